import type { SiteNeedJson } from '@duskline/contract';
import { sayMoment } from '@duskline/domain';
import { visitText } from '../text/visit.ts';
import { isNow, latestMsOf } from './say-latest.ts';

/**
 * What is to be said of a visit that sets out when its site should have been visited already.
 *
 * @param plannedAtMs  when they mean to set out
 * @param timeZone     of the site
 * @returns "after the latest safe date, Sat 28 Nov 12:00 UTC"; empty where the visit is in time, or nothing says by when
 */
export function afterSafeDate(
  plannedAtMs: number,
  need: SiteNeedJson,
  { timeZone, nowMs }: { readonly timeZone: string; readonly nowMs: number },
): string {
  const latestMs = latestMsOf(need);
  if (latestMs === undefined || plannedAtMs <= latestMs) return '';
  return isNow(latestMs, nowMs)
    ? visitText.rounds.tooLateNow
    : visitText.rounds.tooLate(sayMoment(latestMs, timeZone));
}
