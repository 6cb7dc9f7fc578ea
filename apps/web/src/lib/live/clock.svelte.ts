import { MINUTE_MS, SECOND_MS } from '@duskline/domain';
import { createSubscriber } from 'svelte/reactivity';

/** Now, by the server's clock: it ticks each second while somebody reads it, and not otherwise. */
export class Clock {
  #skewMs = $state(0);
  readonly #subscribe = createSubscriber((update) => {
    const timer = setInterval(update, SECOND_MS);
    return () => {
      clearInterval(timer);
    };
  });
  /** Now to the minute: what is drawn from it is drawn again once a minute, not once a second. */
  readonly minuteMs = $derived.by(() => Math.floor(this.nowMs / MINUTE_MS) * MINUTE_MS);

  get nowMs(): number {
    this.#subscribe();
    return Date.now() + this.#skewMs;
  }

  /** What the server said the time was when it answered: a reader's wrong clock makes no reading old. */
  setByServer(nowMs: number): void {
    this.#skewMs = nowMs - Date.now();
  }
}
