import type postgres from 'postgres';
import { isServerAnswer } from './database-errors.ts';
import { handlerOf, siblingOf, withoutGaps, type DriverQuery } from './driver-query.ts';

/**
 * One connection to the database that never comes back once it has closed.
 *
 * The driver would reconnect by itself and carry on: the rest of a transaction would run outside of
 * any, the first statement afterwards would get the error of the last one before, and a statement
 * written while the socket closed could leave the connection dead until it timed out (all three seen
 * with 3.4.9). So whoever holds a connection sends one statement at a time, and one that closed, or
 * may be about to, is thrown away.
 */
export class Connection {
  readonly #client: postgres.Sql;
  readonly #send: DriverQuery['handler'];
  #usable = true;

  /** @param template an unconnected client whose options, value types included, are shared. */
  constructor(template: postgres.Sql) {
    this.#client = siblingOf(template, {
      max: 1,
      onclose: () => {
        this.#usable = false;
      },
    });
    this.#send = handlerOf(this.#client);
  }

  /** Whether a statement may still be sent. */
  get usable(): boolean {
    return this.#usable;
  }

  /** Sends a query made elsewhere; settles, without ever failing, when the query has. */
  async carry(query: DriverQuery): Promise<void> {
    this.#send(query);
    await query.then(
      () => undefined,
      (error: unknown) => this.#doubt(error),
    );
  }

  /** Runs one statement with its values bound. */
  async run(text: string, parameters: readonly unknown[]): Promise<Rows> {
    try {
      return withoutGaps(await bound(this.#client, text, parameters));
    } catch (error) {
      this.#doubt(error);
      throw error;
    }
  }

  /** Runs one statement and hands its rows over in chunks. */
  async *stream(
    text: string,
    parameters: readonly unknown[],
    chunkSize: number,
  ): AsyncIterableIterator<Rows> {
    try {
      for await (const rows of bound(this.#client, text, parameters).cursor(chunkSize)) {
        yield withoutGaps(rows as Rows);
      }
    } catch (error) {
      this.#doubt(error);
      throw error;
    }
  }

  async close(): Promise<void> {
    const graceS = this.#usable ? 1 : 0;
    this.#usable = false;
    await this.#client.end({ timeout: graceS });
  }

  /**
   * Between the error of a socket and its closing the driver would still take a statement, and run it
   * on the next connection. So only an error that the server answered with leaves this one in use.
   */
  #doubt(error: unknown): void {
    if (!isServerAnswer(error)) this.#usable = false;
  }
}

export type Rows = postgres.RowList<postgres.Row[]>;

/** A statement whose text comes from a query compiler and whose values are bound. */
export function bound(
  client: postgres.Sql,
  text: string,
  parameters: readonly unknown[],
): postgres.PendingQuery<postgres.Row[]> {
  return client.unsafe(text, parameters as postgres.ParameterOrJSON<never>[], { prepare: true });
}
