import { DAY_MS, MINUTE_MS } from '@duskline/domain';

/** The stretch of time in view. */
export interface ViewWindow {
  readonly fromMs: number;
  readonly toMs: number;
}

const LEAST_MS = 2 * MINUTE_MS;
const MOST_MS = 10 * 366 * DAY_MS;

/** Nothing is in the future; a window that would reach there is moved back. */
function held({ fromMs, toMs }: ViewWindow, nowMs: number): ViewWindow {
  const over = Math.max(0, toMs - nowMs);
  return { fromMs: fromMs - over, toMs: toMs - over };
}

/** Factor below 1 comes closer. The instant under the pointer stays where it is. */
export function zoomed(view: ViewWindow, factor: number, atMs: number, nowMs: number): ViewWindow {
  const span = view.toMs - view.fromMs;
  const next = Math.min(MOST_MS, Math.max(LEAST_MS, span * factor));
  const share = (atMs - view.fromMs) / span;
  const fromMs = atMs - share * next;
  return held({ fromMs, toMs: fromMs + next }, nowMs);
}

/** @param share of the span; above 0 later */
export function moved(view: ViewWindow, share: number, nowMs: number): ViewWindow {
  const by = (view.toMs - view.fromMs) * share;
  return held({ fromMs: view.fromMs + by, toMs: view.toMs + by }, nowMs);
}

/** The last so many milliseconds up to now. */
export const lastOf = (spanMs: number, nowMs: number): ViewWindow => ({
  fromMs: nowMs - spanMs,
  toMs: nowMs,
});

/** The stretch an address names by `from` and `to`. @returns undefined when it names none that can be */
export function namedWindow(address: URLSearchParams): ViewWindow | undefined {
  const fromMs = Date.parse(address.get('from') ?? '');
  const toMs = Date.parse(address.get('to') ?? '');
  return toMs > fromMs ? { fromMs, toMs } : undefined;
}

/** As the API and the address write it. */
export const isoRange = ({ fromMs, toMs }: ViewWindow) => ({
  from: new Date(fromMs).toISOString(),
  to: new Date(toMs).toISOString(),
});
