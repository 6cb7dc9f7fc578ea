import type postgres from 'postgres';
import type { ConnectionPool } from './connection-pool.ts';
import { asDriverQuery, handlerOf, withoutGaps, type DriverQuery } from './driver-query.ts';

/**
 * The driver's `sql` function with its statements sent over our own connections.
 *
 * Cursors and COPY go over the few connections of the driver's own pool instead: they hold one for as
 * long as somebody reads, and must not keep short statements waiting. `begin` and `reserve` throw.
 *
 * @param client the driver's client; also used for `listen`.
 * @param pool where statements run.
 */
export function pooledSql(client: postgres.Sql, pool: ConnectionPool): postgres.Sql {
  const sendByDriver = handlerOf(client);
  const send = (query: DriverQuery): void => {
    if (query.cursorFn !== undefined || query.streaming === true) sendByDriver(query);
    else void sendByPool(query, pool);
  };
  const route = <T>(made: T): T => {
    if (made instanceof Promise) redirect(asDriverQuery(made), send);
    return made;
  };
  const replaced: Readonly<Record<PropertyKey, unknown>> = {
    unsafe: (...args: Parameters<postgres.Sql['unsafe']>) => route(client.unsafe(...args)),
    file: (...args: Parameters<postgres.Sql['file']>) => route(client.file(...args)),
    notify: (channel: string, payload: string) => sql`select pg_notify(${channel}, ${payload})`,
    begin: refuseTransaction,
    reserve: refuseTransaction,
  };
  const sql: postgres.Sql = new Proxy(client, {
    apply: (target, self: unknown, args: unknown[]) =>
      route(Reflect.apply(target as (...given: unknown[]) => unknown, self, args)),
    get: (target, name): unknown =>
      Object.hasOwn(replaced, name) ? replaced[name] : Reflect.get(target, name),
  });
  return sql;
}

function redirect(query: DriverQuery, send: (query: DriverQuery) => void): void {
  const settle = query.resolve;
  query.resolve = (result) => settle(withoutGaps(result));
  query.handler = send;
}

async function sendByPool(query: DriverQuery, pool: ConnectionPool): Promise<void> {
  try {
    const connection = await pool.take('statement');
    try {
      if (query.cancelled === null) await connection.carry(query);
    } finally {
      pool.giveBack(connection);
    }
  } catch (error) {
    query.reject(error instanceof Error ? error : new Error(String(error)));
  }
}

function refuseTransaction(): never {
  throw new Error(
    'Use transaction() of the database: the driver loses track of closed connections.',
  );
}
