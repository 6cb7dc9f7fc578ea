import type postgres from 'postgres';
import { Connection } from './connection.ts';
import { DatabaseClosedError } from './database-errors.ts';

export type Purpose = 'statement' | 'transaction';

interface Waiting {
  readonly purpose: Purpose;
  readonly resolve: (connection: Connection) => void;
  readonly reject: (error: Error) => void;
}

/**
 * A fixed number of connections, handed out one holder at a time in the order of asking.
 * Transactions may hold half of them, so that statements never wait for transactions alone.
 */
export class ConnectionPool {
  readonly #template: postgres.Sql;
  readonly #limits: Readonly<Record<Purpose, number>>;
  readonly #idle: Connection[] = [];
  readonly #taken = new Map<Connection, Purpose>();
  #waiting: Waiting[] = [];
  #ended = false;
  #whenIdle: () => void = () => undefined;

  constructor(template: postgres.Sql, limit: number) {
    this.#template = template;
    this.#limits = { statement: limit, transaction: Math.max(1, Math.floor(limit / 2)) };
  }

  /** @throws DatabaseClosedError after end. */
  take(purpose: Purpose): Promise<Connection> {
    if (this.#ended) return Promise.reject(new DatabaseClosedError());
    return new Promise((resolve, reject) => {
      this.#waiting.push({ purpose, resolve, reject });
      this.#serve();
    });
  }

  giveBack(connection: Connection): void {
    this.#taken.delete(connection);
    if (connection.usable && !this.#ended) this.#idle.push(connection);
    else void connection.close();
    this.#serve();
    if (this.#taken.size === 0) this.#whenIdle();
  }

  /** Refuses whoever waits, gives those under way some time, and closes every connection. */
  async end(withinMs: number): Promise<void> {
    this.#ended = true;
    for (const { reject } of this.#waiting.splice(0)) reject(new DatabaseClosedError());
    const idle = this.#idle.splice(0).map((each) => each.close());
    await this.#untilIdle(withinMs);
    await Promise.all([...idle, ...[...this.#taken.keys()].map((each) => each.close())]);
  }

  #serve(): void {
    const served = new Set<Waiting>();
    for (const waiting of this.#waiting) {
      if (this.#taken.size >= this.#limits.statement) break;
      if (!this.#mayTake(waiting.purpose)) continue;
      const connection = this.#nextUsable();
      this.#taken.set(connection, waiting.purpose);
      served.add(waiting);
      waiting.resolve(connection);
    }
    if (served.size > 0) this.#waiting = this.#waiting.filter((each) => !served.has(each));
  }

  #mayTake(purpose: Purpose): boolean {
    if (purpose === 'statement') return true;
    const holding = [...this.#taken.values()].filter((each) => each === 'transaction');
    return holding.length < this.#limits.transaction;
  }

  #nextUsable(): Connection {
    // The one used last: its prepared statements are warm and surplus ones stay idle.
    for (let next = this.#idle.pop(); next !== undefined; next = this.#idle.pop()) {
      if (next.usable) return next;
      void next.close();
    }
    return new Connection(this.#template);
  }

  async #untilIdle(withinMs: number): Promise<void> {
    if (this.#taken.size === 0) return;
    let timer: NodeJS.Timeout | undefined;
    await new Promise<void>((resolve) => {
      this.#whenIdle = resolve;
      timer = setTimeout(resolve, withinMs);
    });
    clearTimeout(timer);
  }
}
