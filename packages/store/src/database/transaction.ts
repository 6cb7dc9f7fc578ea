import type { Connection, Rows } from './connection.ts';
import { isServerAnswer, TransactionLostError } from './database-errors.ts';

/**
 * A transaction on a connection of its own. Statements are sent one after the other, so that nothing
 * waits inside the driver when the connection closes; after that every statement is refused here.
 */
export class Transaction {
  readonly connection: Connection;
  #last: Promise<unknown> = Promise.resolve();

  constructor(connection: Connection) {
    this.connection = connection;
  }

  async begin(characteristics: string): Promise<void> {
    await this.run(`begin ${characteristics}`.trimEnd(), []);
  }

  /**
   * Runs one statement when those given before have settled.
   *
   * @throws TransactionLostError when the connection has closed; else what the driver throws.
   */
  run(text: string, parameters: readonly unknown[]): Promise<Rows> {
    const result = this.#last.then(() => {
      this.#refuseIfClosed();
      return this.connection.run(text, parameters);
    });
    this.#last = result.catch(() => undefined);
    return result;
  }

  /** As run, handing the rows over in chunks; other statements wait until it is exhausted. */
  async *stream(
    text: string,
    parameters: readonly unknown[],
    chunkSize: number,
  ): AsyncIterableIterator<Rows> {
    let finish: () => void = () => undefined;
    const previous = this.#last;
    this.#last = new Promise<void>((resolve) => (finish = resolve));
    await previous;
    try {
      this.#refuseIfClosed();
      yield* this.connection.stream(text, parameters, chunkSize);
    } finally {
      finish();
    }
  }

  /**
   * @throws TransactionLostError `rolled-back` when the database undid the transaction instead (a
   *   statement of it had failed), `unknown` when the connection closed before the answer came.
   */
  async commit(): Promise<void> {
    await this.#last;
    this.#refuseIfClosed();
    // A deferred constraint fails here: an answer, and not a lost connection.
    const result = await this.run('commit', []).catch((error: unknown) => {
      throw isServerAnswer(error) ? error : new TransactionLostError('unknown', { cause: error });
    });
    if (result.command !== 'COMMIT') throw new TransactionLostError('rolled-back');
  }

  /** Never fails: where ROLLBACK cannot be said, closing the connection does the same. */
  async rollback(): Promise<void> {
    await this.#last;
    if (!this.connection.usable) return;
    await this.run('rollback', []).catch(() => this.connection.close());
  }

  #refuseIfClosed(): void {
    if (!this.connection.usable) throw new TransactionLostError('rolled-back');
  }
}
