import { HOUR_MS, MINUTE_MS } from '@duskline/domain';

/**
 * When to set out for each stop of a round, if it goes as reckoned: the way there and the work at one, then on to the next.
 *
 * @param startMs   when to set out for the first
 * @param legsKm    as a suggested round has them: with a way from home to the first stop where there is one
 * @param travel    of the answer of Rounds; `fromHome`: the legs begin and end at home
 * @returns one instant for each stop, ms, on five minutes; nothing of the way to the first is reckoned without a home
 */
export function stopTimes(
  startMs: number,
  round: { readonly siteIds: readonly string[]; readonly legsKm: readonly number[] },
  travel: { readonly speedKmh: number; readonly hoursAtSite: number; readonly fromHome: boolean },
): readonly [number, ...number[]] {
  const waysKm = travel.fromHome ? round.legsKm : [0, ...round.legsKm];
  let atMs = startMs;
  const later = round.siteIds.slice(1).map((_, i) => {
    atMs += (travel.hoursAtSite + (waysKm[i] ?? 0) / travel.speedKmh) * HOUR_MS;
    return Math.round(atMs / (5 * MINUTE_MS)) * 5 * MINUTE_MS;
  });
  return [startMs, ...later];
}
