import { DEFAULT_ALBEDO } from './plane-of-array.ts';

/** When snow is taken to lie, and how bright it is. Each may be set for a site. */
export interface SnowRule {
  readonly coldC: number;
  readonly coldDays: number;
  /** Nearer the equator than this no snow is assumed. */
  readonly fromLatitudeDeg: number;
  readonly snowAlbedo: number;
}

/** Assumption of this project, no source; 0.6 is the low end of old snow (common practice). */
export const DEFAULT_SNOW_RULE: SnowRule = {
  coldC: -2,
  coldDays: 3,
  fromLatitudeDeg: 45,
  snowAlbedo: 0.6,
};

/**
 * Brightness of the ground: grass, or snow after days of frost far from the equator.
 *
 * @param inputs.latitudeDeg  −90 … 90
 * @param inputs.dailyAirC    mean air temperature of the last days, the newest last; too few days mean no snow
 * @param rule                when snow is taken to lie
 * @returns 0 … 1
 * @source ours, an assumption: see DEFAULT_SNOW_RULE
 */
export function groundAlbedo(
  inputs: { readonly latitudeDeg: number; readonly dailyAirC: readonly number[] },
  rule: SnowRule = DEFAULT_SNOW_RULE,
): number {
  const { latitudeDeg, dailyAirC } = inputs;
  if (Math.abs(latitudeDeg) <= rule.fromLatitudeDeg || dailyAirC.length < rule.coldDays) {
    return DEFAULT_ALBEDO;
  }
  const last = rule.coldDays === 0 ? [] : dailyAirC.slice(-rule.coldDays);
  return last.every((airC) => airC < rule.coldC) ? rule.snowAlbedo : DEFAULT_ALBEDO;
}
