import type { RoundsJson } from '@duskline/contract';
import { visitText } from '../text/visit.ts';
import { isPressing } from './is-pressing.ts';

type Site = RoundsJson['sites'][number];

const words = visitText.rounds;
const MOST_NAMES = 4;

/**
 * Why Rounds and Fleet may name different numbers of sites: an alert may be seen to from home or later than within a week,
 * and an outlook may want a trip before any alert is raised.
 *
 * @returns one or two sentences; empty where neither page names any site
 */
export function countAsFleet(sites: readonly Site[], nowMs: number): string {
  const trips = sites.filter((site) => isPressing(site, nowMs));
  const fleetOnly = sites.filter((site) => site.needsSomeone && !isPressing(site, nowMs));
  const tripOnly = trips.filter((site) => !site.needsSomeone);
  if (trips.length === 0 && fleetOnly.length === 0) return '';
  if (fleetOnly.length === 0 && tripOnly.length === 0) return words.fleetSame;
  return [
    fleetOnly.length === 0 ? '' : words.fleetToo(namesOf(fleetOnly), fleetOnly.length),
    tripOnly.length === 0 ? '' : words.fleetNotYet(namesOf(tripOnly)),
  ]
    .filter((sentence) => sentence !== '')
    .join(' ');
}

/** "A, B and C"; of many the first ones, and how many more. */
function namesOf(sites: readonly Site[]): string {
  const names = sites.map(({ siteName }) => siteName);
  const named =
    names.length > MOST_NAMES
      ? [...names.slice(0, MOST_NAMES - 1), words.andMore(names.length - MOST_NAMES + 1)]
      : names;
  return new Intl.ListFormat('en-GB').format(named);
}
