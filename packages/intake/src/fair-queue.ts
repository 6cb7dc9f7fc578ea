/** Taken of one key before the next one has its turn: neighbours in a batch are then mostly of one node. */
const IN_A_ROW = 16;

/**
 * What waits, in one queue for each key. Within a key the order is kept; between keys everybody gets a turn, so that one
 * that has brought a great deal does not stand in front of those that have brought a little.
 */
export class FairQueue<T> {
  private readonly queues = new Map<string, T[]>();
  private waiting = 0;

  get size(): number {
    return this.waiting;
  }

  push(key: string, item: T): void {
    const queue = this.queues.get(key);
    if (queue === undefined) this.queues.set(key, [item]);
    else queue.push(item);
    this.waiting += 1;
  }

  /** Takes at most `most`. */
  take(most: number): T[] {
    const taken: T[] = [];
    for (const [key, queue] of this.queues) {
      if (taken.length >= most) break;
      taken.push(...queue.splice(0, Math.min(IN_A_ROW, most - taken.length)));
      // To the end of the line, or out of it.
      this.queues.delete(key);
      if (queue.length > 0) this.queues.set(key, queue);
    }
    this.waiting -= taken.length;
    return taken;
  }
}
