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
import { statement, type TransactionConnection } from './transaction-connection.ts';
import type { TransactionPool } from './transaction-pool.ts';

/**
 * Kysely on postgres.js. A single statement goes to the pool and reserves nothing; a transaction
 * takes a connection of its own from a second pool. Nothing is retried here.
 */
export function kyselyDialect(pool: postgres.Sql, transactions: TransactionPool): Dialect {
  return {
    createAdapter: () => new PostgresAdapter(),
    createDriver: () => new PostgresJsDriver(pool, transactions),
    createIntrospector: (db) => new PostgresIntrospector(db),
    createQueryCompiler: () => new PostgresQueryCompiler(),
  };
}

/** What Kysely calls a connection: the pool, until a transaction begins on it. */
class Session implements DatabaseConnection {
  readonly #pool: postgres.Sql;
  transaction: TransactionConnection | undefined;

  constructor(pool: postgres.Sql) {
    this.#pool = pool;
  }

  async executeQuery<R>(query: CompiledQuery): Promise<QueryResult<R>> {
    const rows = await (this.transaction === undefined
      ? statement(this.#pool, query.sql, query.parameters)
      : this.transaction.run(query.sql, query.parameters));
    return queryResult<R>(rows);
  }

  async *streamQuery<R>(
    query: CompiledQuery,
    chunkSize = 1000,
  ): AsyncIterableIterator<QueryResult<R>> {
    const chunks =
      this.transaction === undefined
        ? statement(this.#pool, query.sql, query.parameters).cursor(chunkSize)
        : this.transaction.stream(query.sql, query.parameters, chunkSize);
    for await (const rows of chunks) yield { rows: rows as R[] };
  }
}

const countedCommands = new Set(['INSERT', 'UPDATE', 'DELETE', 'MERGE']);

function queryResult<R>(rows: postgres.RowList<postgres.Row[]>): QueryResult<R> {
  const plain = Array.from(rows) as R[];
  if (!countedCommands.has(rows.command)) return { rows: plain };
  return { rows: plain, numAffectedRows: BigInt(rows.count) };
}

class PostgresJsDriver implements Driver {
  readonly #pool: postgres.Sql;
  readonly #transactions: TransactionPool;

  constructor(pool: postgres.Sql, transactions: TransactionPool) {
    this.#pool = pool;
    this.#transactions = transactions;
  }

  async init(): Promise<void> {
    // Connections open when the first statement needs them.
  }

  async acquireConnection(): Promise<Session> {
    return new Session(this.#pool);
  }

  async beginTransaction(session: Session, settings: TransactionSettings): Promise<void> {
    const connection = await this.#transactions.take();
    try {
      await connection.begin(characteristicsOf(settings));
    } catch (error) {
      await connection.close();
      this.#transactions.giveBack(connection);
      throw error;
    }
    session.transaction = connection;
  }

  async commitTransaction(session: Session): Promise<void> {
    await session.transaction?.commit();
  }

  async rollbackTransaction(session: Session): Promise<void> {
    await session.transaction?.rollback();
  }

  async releaseConnection(session: Session): Promise<void> {
    if (session.transaction !== undefined) this.#transactions.giveBack(session.transaction);
  }

  async destroy(): Promise<void> {
    await this.#transactions.end();
  }
}

function characteristicsOf(settings: TransactionSettings): string {
  const isolation = settings.isolationLevel;
  const parts = [isolation && `isolation level ${isolation}`, settings.accessMode];
  return parts.filter((part) => part !== undefined).join(' ');
}
