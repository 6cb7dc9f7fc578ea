import { DAY_MS, type CauseKey, type Outlook } from '@duskline/domain';
import { darkProbabilityWithin } from '../dark-probability.ts';
import type { SiteNeedFacts } from './site-need.ts';

/** Looked so far ahead: the days whose chances an outlook states. */
export const SAVED_WITHIN_DAYS = 14;
const STEP_DAYS = 0.25;

/** Causes of a silence that somebody on the spot can end; the others end by themselves or elsewhere. */
const MENDED_THERE: readonly CauseKey[] = ['broken', 'theft', 'awake-pattern'];

/**
 * Days of data that would be lost in the next fourteen days if nobody went, and are not when somebody goes at `visitAtMs` and
 * leaves the site with a full battery and a sound node. Expected value, 0 … 14. What it takes for granted: a node that has
 * stopped stays dark to the end of the fourteen days (so it is rather too high for bright seasons), a visit mends what is
 * wrong, and a silent node writes nothing, except as far as diagnosis blames the link.
 *
 * @returns undefined when nothing says how long the node lasts
 */
export function dataDaysSaved(facts: SiteNeedFacts, visitAtMs: number): number | undefined {
  const { nowMs, node, verdict, outlook } = facts;
  if (node === undefined || verdict === undefined) return undefined;
  const fromDays = Math.min(SAVED_WITHIN_DAYS, Math.max(0, (visitAtMs - nowMs) / DAY_MS));
  const left = SAVED_WITHIN_DAYS - fromDays;
  switch (verdict.state) {
    case 'up':
    case 'low':
      return outlook === undefined ? undefined : lostAhead(outlook, nowMs, fromDays);
    case 'dark-as-designed':
    case 'overdue':
      return Math.max(0, darkUntilDays(outlook, nowMs) - fromDays);
    case 'silent-unexplained':
      return left * mendableShare(facts);
    case 'link-down':
    case 'off-for-work':
    case 'retired':
      return 0;
    case 'not-yet-proved':
      return undefined;
  }
}

/** The chance of being dark, summed over the days from the visit on. */
function lostAhead(outlook: Outlook, nowMs: number, fromDays: number): number | undefined {
  const ageDays = Math.max(0, (nowMs - outlook.issuedAtMs) / DAY_MS);
  let lost = 0;
  for (let day = fromDays; day < SAVED_WITHIN_DAYS; day += STEP_DAYS) {
    const stepDays = Math.min(STEP_DAYS, SAVED_WITHIN_DAYS - day);
    const chance = darkProbabilityWithin(
      outlook,
      Math.min(SAVED_WITHIN_DAYS, ageDays + day + stepDays / 2),
    );
    if (chance === undefined) return undefined;
    lost += chance * stepDays;
  }
  return lost;
}

/** Days from now to the middle of the window in which a dark node is expected back; at most fourteen. */
function darkUntilDays(outlook: Outlook | undefined, nowMs: number): number {
  const back = outlook !== undefined && 'back' in outlook ? outlook.back : undefined;
  if (back?.kind !== 'expected-back' || back.window.p50Ms === undefined) return SAVED_WITHIN_DAYS;
  const days = (back.window.p50Ms - nowMs) / DAY_MS;
  // The window is past: it did not come back by itself.
  return days <= 0 ? SAVED_WITHIN_DAYS : Math.min(SAVED_WITHIN_DAYS, days);
}

function mendableShare({ silence }: SiteNeedFacts): number {
  if (silence === undefined || silence.causes.length === 0) return 1;
  return silence.causes
    .filter(({ cause }) => MENDED_THERE.includes(cause))
    .reduce((sum, { probability }) => sum + probability, 0);
}
