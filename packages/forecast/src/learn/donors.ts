import type { YieldDay } from './yield-days.ts';

/** The known days that may stand in for days known only from below. */
export interface Donors {
  /** Ratios of the uncensored days, ascending. */
  readonly ratios: Float64Array;
  /** For each day, the first donor at least as good. */
  readonly first: readonly number[];
}

/** With fewer donors above its bound, a censored day is set to its bound or near the envelope of the site. */
const LEAST_DONORS = 4;
const ENVELOPE_SHARE = 0.9;

/**
 * Finds for each day the known days at least as good: what Kaplan and Meier's estimate makes of a censored value.
 *
 * @source Efron 1967, Proc. 5th Berkeley Symp. 4:831, redistribution to the right
 */
export function donorsOf(days: readonly YieldDay[]): Donors {
  const known = days.filter((day) => !day.isCensored).map((day) => day.ratio);
  const ratios = Float64Array.from(known).sort();
  return { ratios, first: days.map((day) => firstAtLeast(ratios, day.ratio)) };
}

/**
 * One ratio the day may have had: its own, or that of a donor.
 *
 * @param share  picks the donor: 0 ≤ share < 1
 */
export function ratioOf(
  days: readonly YieldDay[],
  index: number,
  from: { readonly donors: Donors; readonly siteScale: number; readonly share: number },
): number {
  const day = days[index]!;
  if (!day.isCensored) return day.ratio;
  const { donors, siteScale, share } = from;
  const first = donors.first[index]!;
  const count = donors.ratios.length - first;
  if (count < LEAST_DONORS) return Math.max(day.ratio, ENVELOPE_SHARE * siteScale);
  return donors.ratios[first + Math.floor(share * count)]!;
}

/** The ratio each day is expected to have had: its own, or the middle of its donors. */
export function typicalRatios(days: readonly YieldDay[], siteScale: number): readonly number[] {
  const donors = donorsOf(days);
  return days.map((_, index) => ratioOf(days, index, { donors, siteScale, share: 0.5 }));
}

/** First index whose value is ≥ the wanted one; the length when there is none. */
export function firstAtLeast(sorted: Float64Array, wanted: number): number {
  let low = 0;
  let high = sorted.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (sorted[middle]! < wanted) low = middle + 1;
    else high = middle;
  }
  return low;
}
