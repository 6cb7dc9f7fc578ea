import { sayMoment } from '@duskline/domain';
import type { RuleFacts } from './rule-facts.ts';

/**
 * By when something is taken in hand that is to be seen to today: where no daylight is left there, the first time at which
 * anybody could.
 *
 * @returns "today; no need at night", or "at first light, Sat 28 Nov 08:05 UTC"
 */
export const today = (
  { site, firstLightMs }: Pick<RuleFacts, 'site' | 'firstLightMs'>,
  inLight = 'today; no need at night',
): string =>
  firstLightMs === undefined
    ? inLight
    : `at first light, ${sayMoment(firstLightMs, site.timeZone)}`;
