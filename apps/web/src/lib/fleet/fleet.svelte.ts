import type { FleetJson, FleetRowJson } from '@duskline/contract';
import {
  applyLiveEvents,
  noRows,
  refreshRows,
  type FleetRows,
  type LiveEvent,
} from './apply-live-event.ts';

/** The sites as they are now: what the API answered last, with what the socket has said since laid over it. */
export class Fleet {
  readonly #answer: () => FleetJson;
  /** Rows after the last event, and the answer they were built on. */
  #live = $state.raw<{ readonly on: FleetJson | undefined; readonly rows: FleetRows }>({
    on: undefined,
    rows: noRows,
  });
  readonly #rows = $derived.by(() => {
    const answer = this.#answer();
    return this.#live.on === answer ? this.#live.rows : refreshRows(this.#live.rows, answer.rows);
  });
  readonly #list = $derived([...this.#rows.values()]);

  /** @param answer  reads the page's data, so that an answer asked for again is taken up by itself */
  constructor(answer: () => FleetJson) {
    this.#answer = answer;
  }

  get rows(): readonly FleetRowJson[] {
    return this.#list;
  }

  get byId(): FleetRows {
    return this.#rows;
  }

  apply(events: readonly LiveEvent[]): void {
    this.#live = { on: this.#answer(), rows: applyLiveEvents(this.#rows, events) };
  }
}
