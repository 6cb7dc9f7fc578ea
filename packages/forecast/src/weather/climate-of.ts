import { monthlyMean } from './monthly-mean.ts';

/** Where the twelve clearness values came from. */
export type ClearnessFrom = 'site' | 'latitude';

const LATITUDES = [0, 10, 20, 28, 35, 42, 50, 57, 65, 90] as const;
/** Mean of the year, and how far the sunniest month lies above it, by latitude. */
const YEAR = [0.5, 0.52, 0.57, 0.58, 0.55, 0.5, 0.43, 0.4, 0.41, 0.42] as const;
const SEASON = [0, 0.01, 0.02, 0.04, 0.06, 0.09, 0.1, 0.09, 0.07, 0.05] as const;
/** Standard deviation of a place's clearness about that of its latitude. */
export const LATITUDE_SIGMA = 0.09;

/**
 * Monthly clearness of a place of which nothing but its latitude is known.
 *
 * Rough on purpose, and used with a wide doubt (σ 0.09): wet tropics, the dry belts about 25°, cloudy middle latitudes with
 * their dullest months around midwinter.
 *
 * @source from memory of zonal means in satellite climatologies; ±0.1 from place to place
 */
export function clearnessByLatitude(latitudeDeg: number): readonly number[] {
  const year = along(YEAR, Math.abs(latitudeDeg));
  const season = along(SEASON, Math.abs(latitudeDeg));
  const sunniest = latitudeDeg >= 0 ? 5.5 : 11.5;
  return Array.from(
    { length: 12 },
    (_, month) => year + season * Math.cos((2 * Math.PI * (month - sunniest)) / 12),
  );
}

/** The same climate, brighter or duller by a step, within what can be. */
export const shiftedClearness = (byMonth: readonly number[], by: number): readonly number[] =>
  byMonth.map((clearness) => Math.min(0.8, Math.max(0.08, clearness + by)));

/** Clearness on one date. */
export const clearnessOn = (byMonth: readonly number[], dayOfYear: number): number =>
  monthlyMean(byMonth, dayOfYear);

function along(values: readonly number[], latitudeDeg: number): number {
  let next = 1;
  while (next < LATITUDES.length - 1 && LATITUDES[next]! < latitudeDeg) next++;
  const share = (latitudeDeg - LATITUDES[next - 1]!) / (LATITUDES[next]! - LATITUDES[next - 1]!);
  return values[next - 1]! + share * (values[next]! - values[next - 1]!);
}
