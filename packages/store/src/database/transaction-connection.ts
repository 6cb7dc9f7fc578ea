import postgres from 'postgres';
import { TransactionLostError } from './database-errors.ts';

/** The driver's options; `max_pipeline` is missing from its own types. */
export type ClientOptions = postgres.Options<Record<string, postgres.PostgresType>> & {
  readonly max_pipeline: number;
};

/**
 * One connection that carries one transaction at a time and never comes back once it has closed.
 *
 * The driver would reconnect by itself and run what is left of a transaction outside of any. Here
 * statements are sent one at a time, so nothing waits inside the driver when the socket closes, and
 * after the closing every statement is refused before it reaches the driver.
 */
export class TransactionConnection {
  readonly #client: postgres.Sql;
  #closed = false;
  #last: Promise<unknown> = Promise.resolve();

  constructor(url: string, options: ClientOptions) {
    this.#client = postgres(url, {
      ...options,
      max: 1,
      max_lifetime: null,
      onclose: () => {
        this.#closed = true;
      },
    });
  }

  /** Whether another transaction may begin on this connection. */
  get usable(): boolean {
    return !this.#closed;
  }

  /**
   * Runs one statement after those already given have settled.
   *
   * @throws TransactionLostError when the connection has closed; else what the driver throws.
   */
  run(
    text: string,
    parameters: readonly unknown[] = [],
  ): Promise<postgres.RowList<postgres.Row[]>> {
    return this.#inTurn(() => this.#send(text, parameters));
  }

  /** As run, handing the rows over in chunks; other statements wait until it is exhausted. */
  async *stream(
    text: string,
    parameters: readonly unknown[],
    chunkSize: number,
  ): AsyncIterableIterator<postgres.Row[]> {
    let release: () => void = () => undefined;
    const done = new Promise<void>((resolve) => (release = resolve));
    const previous = this.#last;
    this.#last = previous.then(() => done);
    await previous;
    try {
      if (this.#closed) throw new TransactionLostError('rolled-back');
      yield* statement(this.#client, text, parameters).cursor(chunkSize);
    } finally {
      release();
    }
  }

  async begin(characteristics: string): Promise<void> {
    await this.run(`begin ${characteristics}`.trimEnd());
  }

  /**
   * @throws TransactionLostError `rolled-back` when the database undid the transaction instead (a
   *   statement of it had failed), `unknown` when the connection closed before the answer.
   */
  async commit(): Promise<void> {
    await this.#last;
    if (this.#closed) throw new TransactionLostError('rolled-back');
    const command = await this.run('commit').then(
      (result) => result.command,
      (error: unknown) => {
        throw new TransactionLostError('unknown', { cause: error });
      },
    );
    if (command !== 'COMMIT') throw new TransactionLostError('rolled-back');
  }

  /** Never throws: a transaction whose rollback cannot be said ends with its connection. */
  async rollback(): Promise<void> {
    await this.#last;
    if (this.#closed) return;
    await this.run('rollback').catch(() => this.close());
  }

  async close(): Promise<void> {
    this.#closed = true;
    await this.#client.end({ timeout: 1 }).catch(() => undefined);
  }

  async #send(
    text: string,
    parameters: readonly unknown[],
  ): Promise<postgres.RowList<postgres.Row[]>> {
    if (this.#closed) throw new TransactionLostError('rolled-back');
    return await statement(this.#client, text, parameters);
  }

  #inTurn<T>(work: () => Promise<T>): Promise<T> {
    const result = this.#last.then(work);
    this.#last = result.catch(() => undefined);
    return result;
  }
}

/** A statement with its values bound; the text comes from Kysely's compiler. */
export function statement(
  client: postgres.Sql,
  text: string,
  parameters: readonly unknown[],
): postgres.PendingQuery<postgres.Row[]> {
  return client.unsafe(text, parameters as postgres.ParameterOrJSON<never>[], { prepare: true });
}
