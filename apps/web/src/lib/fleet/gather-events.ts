import type { LiveEvent } from './apply-live-event.ts';

/** News of a small fleet waits this long before it is drawn, so that a burst costs one drawing. */
const LEAST_MS = 100;
/** And so much longer for each row that has to be looked through. */
const MS_PER_ROW = 0.05;

/**
 * Gathers events and hands them on together: a thousand a second must not freeze the page.
 *
 * @param options.rows  how many rows the page holds now: the more, the longer events are gathered (600 ms for 10,000)
 * @param options.onEvents  gets them in the order they came
 */
export function gatherEvents(options: {
  readonly rows: () => number;
  readonly onEvents: (events: readonly LiveEvent[]) => void;
}): { readonly add: (event: LiveEvent) => void; readonly stop: () => void } {
  let waiting: LiveEvent[] = [];
  let timer: ReturnType<typeof setTimeout> | undefined;
  const handOn = (): void => {
    const events = waiting;
    waiting = [];
    timer = undefined;
    options.onEvents(events);
  };
  return {
    add(event) {
      waiting.push(event);
      timer ??= setTimeout(handOn, LEAST_MS + options.rows() * MS_PER_ROW);
    },
    stop() {
      clearTimeout(timer);
    },
  };
}
