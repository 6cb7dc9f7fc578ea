import type { SiteNeedJson } from '@duskline/contract';
import { sayMoment } from '@duskline/domain';
import { instantMs } from '../format/time.ts';
import { visitText } from '../text/visit.ts';

/**
 * What is to be said of a visit that sets out when its site should have been visited already.
 *
 * @param plannedAtMs  when they mean to set out
 * @param timeZone     of the site
 * @returns "after the latest safe date, Sat 28 Nov 12:00 UTC"; empty where the visit is in time, or nothing says by when
 */
export function afterSafeDate(plannedAtMs: number, need: SiteNeedJson, timeZone: string): string {
  if (need.kind !== 'by' || need.at === null) return '';
  const latestMs = instantMs(need.at);
  return plannedAtMs > latestMs ? visitText.rounds.tooLate(sayMoment(latestMs, timeZone)) : '';
}
