import { TransactionConnection, type ClientOptions } from './transaction-connection.ts';

/** A few connections kept for transactions; whoever comes when all are taken waits in order. */
export class TransactionPool {
  readonly #url: string;
  readonly #options: ClientOptions;
  readonly #limit: number;
  readonly #idle: TransactionConnection[] = [];
  readonly #taken = new Set<TransactionConnection>();
  readonly #waiting: (() => void)[] = [];
  #ended = false;

  constructor(url: string, options: ClientOptions, limit: number) {
    this.#url = url;
    this.#options = options;
    this.#limit = limit;
  }

  async take(): Promise<TransactionConnection> {
    while (!this.#ended && this.#taken.size >= this.#limit) {
      await new Promise<void>((resolve) => this.#waiting.push(resolve));
    }
    if (this.#ended) throw new Error('The database was closed.');
    const connection = this.#nextUsable();
    this.#taken.add(connection);
    return connection;
  }

  giveBack(connection: TransactionConnection): void {
    this.#taken.delete(connection);
    if (connection.usable && !this.#ended) this.#idle.push(connection);
    else void connection.close();
    this.#waiting.shift()?.();
  }

  /** Closes the idle connections at once and the taken ones as they come back. */
  async end(): Promise<void> {
    this.#ended = true;
    for (const resume of this.#waiting.splice(0)) resume();
    await Promise.all([...this.#idle.splice(0), ...this.#taken].map((each) => each.close()));
  }

  #nextUsable(): TransactionConnection {
    for (let next = this.#idle.pop(); next !== undefined; next = this.#idle.pop()) {
      if (next.usable) return next;
      void next.close();
    }
    return new TransactionConnection(this.#url, this.#options);
  }
}
