import type { Lane } from '@duskline/domain';

/** A quarter of each batch is the past's when it waits, so that a lively fleet cannot keep the past out for ever. */
const BACKLOG_SHARE = 4;

/**
 * What waits to be stored, in two lanes. Fresh messages go first: a month of backlog on the way delays them by no more
 * than the batch that is under way.
 */
export class LaneQueue<T> {
  private readonly lanes: Record<Lane, T[]> = { live: [], backlog: [] };

  get size(): number {
    return this.lanes.live.length + this.lanes.backlog.length;
  }

  push(lane: Lane, item: T): void {
    this.lanes[lane].push(item);
  }

  /** Takes at most `most`, in the order of each lane. */
  take(most: number): T[] {
    const { live, backlog } = this.lanes;
    const kept = Math.min(backlog.length, Math.floor(most / BACKLOG_SHARE));
    const fresh = live.splice(0, most - kept);
    return [...fresh, ...backlog.splice(0, most - fresh.length)];
  }
}
