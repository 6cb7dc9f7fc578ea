import {
  PostgresAdapter,
  PostgresIntrospector,
  PostgresQueryCompiler,
  type CompiledQuery,
  type DatabaseConnection,
  type Dialect,
  type Driver,
  type QueryResult,
  type TransactionSettings,
} from 'kysely';
import type postgres from 'postgres';
import { bound, type Rows } from './connection.ts';
import type { ConnectionPool } from './connection-pool.ts';
import { Transaction } from './transaction.ts';

/**
 * Kysely on postgres.js. A single statement takes a connection for as long as it runs and reserves
 * nothing; a transaction holds one of its own. Nothing is retried here.
 *
 * @param sql the statements' way into the pool (`pooledSql`).
 * @param pool where transactions take their connections.
 */
export function kyselyDialect(sql: postgres.Sql, pool: ConnectionPool): Dialect {
  return {
    createAdapter: () => new PostgresAdapter(),
    createDriver: () => new PooledDriver(sql, pool),
    createIntrospector: (db) => new PostgresIntrospector(db),
    createQueryCompiler: () => new PostgresQueryCompiler(),
  };
}

/** What Kysely calls a connection: any of the pool, until a transaction begins on it. */
class Session implements DatabaseConnection {
  readonly #sql: postgres.Sql;
  transaction: Transaction | undefined;

  constructor(sql: postgres.Sql) {
    this.#sql = sql;
  }

  async executeQuery<R>(query: CompiledQuery): Promise<QueryResult<R>> {
    const rows = await (this.transaction === undefined
      ? bound(this.#sql, query.sql, query.parameters)
      : this.transaction.run(query.sql, query.parameters));
    return queryResult<R>(rows);
  }

  async *streamQuery<R>(
    query: CompiledQuery,
    chunkSize = 1000,
  ): AsyncIterableIterator<QueryResult<R>> {
    const chunks =
      this.transaction === undefined
        ? bound(this.#sql, query.sql, query.parameters).cursor(chunkSize)
        : this.transaction.stream(query.sql, query.parameters, chunkSize);
    for await (const rows of chunks) yield { rows: [...rows] as R[] };
  }
}

const countedCommands = new Set(['INSERT', 'UPDATE', 'DELETE', 'MERGE']);

function queryResult<R>(result: Rows): QueryResult<R> {
  const rows = [...result] as R[];
  if (!countedCommands.has(result.command)) return { rows };
  return { rows, numAffectedRows: BigInt(result.count) };
}

class PooledDriver implements Driver {
  readonly #sql: postgres.Sql;
  readonly #pool: ConnectionPool;

  constructor(sql: postgres.Sql, pool: ConnectionPool) {
    this.#sql = sql;
    this.#pool = pool;
  }

  async init(): Promise<void> {
    // Connections open when the first statement needs them.
  }

  async acquireConnection(): Promise<Session> {
    return new Session(this.#sql);
  }

  async beginTransaction(session: Session, settings: TransactionSettings): Promise<void> {
    const transaction = new Transaction(await this.#pool.take('transaction'));
    // From here on releaseConnection gives it back, whether or not BEGIN succeeds.
    session.transaction = transaction;
    try {
      await transaction.begin(characteristicsOf(settings));
    } catch (error) {
      await transaction.connection.close();
      throw error;
    }
  }

  async commitTransaction(session: Session): Promise<void> {
    await session.transaction?.commit();
  }

  async rollbackTransaction(session: Session): Promise<void> {
    await session.transaction?.rollback();
  }

  async releaseConnection(session: Session): Promise<void> {
    if (session.transaction !== undefined) this.#pool.giveBack(session.transaction.connection);
    session.transaction = undefined;
  }

  async destroy(): Promise<void> {
    // The pool is closed by whoever opened it.
  }
}

function characteristicsOf(settings: TransactionSettings): string {
  const isolation = settings.isolationLevel;
  const parts = [isolation && `isolation level ${isolation}`, settings.accessMode];
  return parts.filter((part) => part !== undefined).join(', ');
}
