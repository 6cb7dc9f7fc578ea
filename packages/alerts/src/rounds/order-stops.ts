import { greatCircleKm, type Place } from './great-circle.ts';

/** So many stops are ordered by trying every order; more by improving a first guess. */
const TRY_ALL_UP_TO = 8;

/**
 * The shortest way through all stops by great-circle distance: from `home` and back to it, or, without a home, from the
 * first stop to the last. Exact up to eight stops; beyond that a good order (nearest next, then untwisted), not
 * always the best.
 *
 * @returns places in `stops`, each once
 */
export function orderStops(stops: readonly Place[], home?: Place): readonly number[] {
  const km = (a: number, b: number): number => {
    const from = a < 0 ? home : stops[a];
    const to = b < 0 ? home : stops[b];
    return from === undefined || to === undefined ? 0 : greatCircleKm(from, to);
  };
  return stops.length <= TRY_ALL_UP_TO
    ? bestOfAll(stops.length, km)
    : untwisted(nearestNext(stops.length, km), km);
}

/** Length of a way through the stops in this order, km; from home and back where there is one. */
export function wayKm(stops: readonly Place[], home?: Place): number {
  const way = home === undefined ? stops : [home, ...stops, home];
  return way.reduce((sum, stop, i) => {
    const before = way[i - 1];
    return before === undefined ? sum : sum + greatCircleKm(before, stop);
  }, 0);
}

/** Home is −1. */
type Distance = (a: number, b: number) => number;
const HOME = -1;

function bestOfAll(count: number, km: Distance): readonly number[] {
  let best: readonly number[] = [];
  let bestKm = Infinity;
  const go = (way: readonly number[], soFarKm: number): void => {
    if (soFarKm >= bestKm) return;
    if (way.length === count) {
      const wholeKm = soFarKm + km(way.at(-1) ?? HOME, HOME);
      if (wholeKm < bestKm) [best, bestKm] = [way, wholeKm];
      return;
    }
    for (let next = 0; next < count; next++)
      if (!way.includes(next)) go([...way, next], soFarKm + km(way.at(-1) ?? HOME, next));
  };
  go([], 0);
  return best;
}

function nearestNext(count: number, km: Distance): number[] {
  const left = new Set(Array.from({ length: count }, (_, i) => i));
  const way: number[] = [];
  while (left.size > 0) {
    const at = way.at(-1) ?? HOME;
    const next = [...left].reduce((a, b) => (km(at, b) < km(at, a) ? b : a));
    left.delete(next);
    way.push(next);
  }
  return way;
}

/** Turns stretches round as long as that shortens the way (2-opt). */
function untwisted(first: readonly number[], km: Distance): readonly number[] {
  let way = [...first];
  for (let improved = true; improved;) {
    improved = false;
    for (let i = 0; i < way.length - 1; i++)
      for (let k = i + 1; k < way.length; k++) {
        const [before, from] = [way[i - 1] ?? HOME, way[i] ?? HOME];
        const [to, after] = [way[k] ?? HOME, way[k + 1] ?? HOME];
        const gainKm = km(before, from) + km(to, after) - km(before, to) - km(from, after);
        if (gainKm <= 1e-9) continue;
        way = [...way.slice(0, i), ...way.slice(i, k + 1).reverse(), ...way.slice(k + 1)];
        improved = true;
      }
  }
  return way;
}
