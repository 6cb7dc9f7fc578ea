import { greatCircleKm, type Place } from './great-circle.ts';
import { orderStops, wayKm } from './order-stops.ts';

/** How people travel. Distances are great-circle: the speed has to make up for the roads. */
export interface Travel {
  /** Where a round begins and ends; undefined: only the ways between sites are counted. */
  readonly home?: Place;
  readonly speedKmh: number;
  readonly hoursAtSite: number;
  readonly mostHours: number;
  readonly mostStops: number;
}

/** Common practice, no source: bad roads, three quarters of an hour's work, a working day. */
export const USUAL_TRAVEL: Travel = {
  speedKmh: 35,
  hoursAtSite: 0.75,
  mostHours: 8,
  mostStops: 6,
};

/** A site that somebody has to go to. */
export interface RoundStop extends Place {
  /** Latest safe date. */
  readonly byMs: number;
  /** Undefined: nothing says how many. */
  readonly savedDays?: number;
}

export interface SuggestedRound<S extends RoundStop> {
  /** In the order in which to drive. */
  readonly stops: readonly S[];
  /** From one to the next, great-circle, km; from home and back to it where there is one. */
  readonly legsKm: readonly number[];
  readonly distanceKm: number;
  readonly hours: number;
  /** The earliest latest safe date of its stops. */
  readonly byMs: number;
  /** Expected days of data saved, of the stops of which that is known. */
  readonly savedDays: number;
  /** Those days for each hour of the trip. */
  readonly savedPerHour: number;
}

/** Hours for a trip through these stops in this order. */
export const tripHours = (stops: readonly Place[], travel: Travel): number =>
  wayKm(stops, travel.home) / travel.speedKmh + stops.length * travel.hoursAtSite;

/** A round of these stops in the shortest order. */
export function roundOf<S extends RoundStop>(
  stops: readonly S[],
  travel: Travel,
): SuggestedRound<S> {
  const ordered = orderStops(stops, travel.home).flatMap((i) => stops[i] ?? []);
  const way: readonly Place[] =
    travel.home === undefined ? ordered : [travel.home, ...ordered, travel.home];
  const legsKm = way.slice(1).map((stop, i) => greatCircleKm(way[i] ?? stop, stop));
  const hours = tripHours(ordered, travel);
  const savedDays = ordered.reduce((sum, stop) => sum + (stop.savedDays ?? 0), 0);
  return {
    stops: ordered,
    legsKm,
    distanceKm: legsKm.reduce((sum, km) => sum + km, 0),
    hours,
    byMs: Math.min(...ordered.map(({ byMs }) => byMs)),
    savedDays,
    savedPerHour: hours === 0 ? 0 : savedDays / hours,
  };
}

/**
 * Groups sites into rounds: the one that can wait least begins a round, and whatever lengthens it least joins it, as long as
 * the day and the number of stops allow. Every site is in exactly one round; rounds by the date by which they must be driven.
 * A suggestion: it knows no roads, no gates and no weather.
 */
export function suggestRounds<S extends RoundStop>(
  stops: readonly S[],
  travel: Travel,
): readonly SuggestedRound<S>[] {
  const left = [...stops].sort((a, b) => a.byMs - b.byMs);
  const rounds: SuggestedRound<S>[] = [];
  for (let seed = left.shift(); seed !== undefined; seed = left.shift()) {
    let round = roundOf([seed], travel);
    while (round.stops.length < travel.mostStops) {
      const next = closest(round, left, travel);
      if (next === undefined) break;
      left.splice(left.indexOf(next.stop), 1);
      round = next.round;
    }
    rounds.push(round);
  }
  return rounds;
}

/** The stop that lengthens the round least, and the round with it; undefined when none fits the day. */
function closest<S extends RoundStop>(
  round: SuggestedRound<S>,
  left: readonly S[],
  travel: Travel,
): { readonly stop: S; readonly round: SuggestedRound<S> } | undefined {
  let best: { readonly stop: S; readonly round: SuggestedRound<S> } | undefined;
  // Only the nearest few are tried in full: an order is found for each.
  const near = [...left]
    .sort((a, b) => nearestKm(round.stops, a) - nearestKm(round.stops, b))
    .slice(0, 6);
  for (const stop of near) {
    const longer = roundOf([...round.stops, stop], travel);
    if (longer.hours > travel.mostHours) continue;
    if (best === undefined || longer.hours < best.round.hours) best = { stop, round: longer };
  }
  return best;
}

const nearestKm = (stops: readonly Place[], to: Place): number =>
  Math.min(...stops.map((stop) => greatCircleKm(stop, to)));
