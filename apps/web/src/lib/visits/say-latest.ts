import type { SiteNeedJson } from '@duskline/contract';
import { DAY_MS, MINUTE_MS, sayMoment } from '@duskline/domain';
import { dayAndMonth, instantMs } from '../format/time.ts';
import { visitText } from '../text/visit.ts';

/** The server never names a date before its own now: closer than this it means "as soon as somebody can". */
const NOW_WITHIN_MS = 5 * MINUTE_MS;

/** Is the latest safe date come, or past? */
export const isNow = (latestMs: number, nowMs: number): boolean => latestMs - nowMs < NOW_WITHIN_MS;

/**
 * The latest safe date, in the same words on every page: "Sat 28 Nov 12:00 UTC", or "now".
 *
 * @param timeZone  of the site
 */
export const sayLatest = (latestMs: number, timeZone: string, nowMs: number): string =>
  isNow(latestMs, nowMs) ? visitText.latest.now : sayMoment(latestMs, timeZone);

/** The latest safe date of a site, ms; undefined: nobody has to go, or nothing can be told. */
export const latestMsOf = (need: SiteNeedJson): number | undefined =>
  need.kind === 'by' && need.at !== null ? instantMs(need.at) : undefined;

/**
 * Until when nobody is needed: the instant itself within a week, as the site names it when somebody is told; the day beyond,
 * since no forecast bears more.
 */
export const sayUntil = (untilMs: number, timeZone: string, nowMs: number): string =>
  untilMs - nowMs < 7 * DAY_MS ? sayMoment(untilMs, timeZone) : dayAndMonth(untilMs, timeZone);
