import type { NewSettingsRequestJson } from '@duskline/contract';
import { DAY_MS } from '@duskline/domain';
import { startOfDayMs } from '../format/time.ts';

/** Of an interval; four times fewer readings and messages is what most loads feel, and what a record still bears. */
const TIMES = 4;
const LEAST_S = 900;
const LONGEST_S = 86_400;
const THRIFT_DAYS = 14;

/** What "thrift" asks of a node that speaks every `usualGapS`: less often, for a fortnight, until the start of a day at the site. */
export function thriftRequest(
  usualGapS: number,
  { nowMs, timeZone }: { readonly nowMs: number; readonly timeZone: string },
): Required<NewSettingsRequestJson> & { readonly untilMs: number } {
  const everyS = Math.min(LONGEST_S, Math.max(LEAST_S, Math.ceil(usualGapS * TIMES)));
  const untilMs = startOfDayMs(nowMs + THRIFT_DAYS * DAY_MS, timeZone);
  return {
    logEveryS: everyS,
    publishEveryS: everyS,
    thriftUntil: new Date(untilMs).toISOString(),
    untilMs,
  };
}
