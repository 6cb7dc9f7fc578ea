import type { MonthlyValues } from '@duskline/energy';

/** Twelve months of sun and air for a place of which nobody said anything. */
export interface SiteClimate {
  /** Mean daily clearness of each month: sun on the level over that above the air, 0 … 1. */
  readonly clearnessByMonth: MonthlyValues;
  /** Mean air temperature of each month, °C. */
  readonly airCByMonth: MonthlyValues;
}

interface Band {
  /** Up to this far from the equator. */
  readonly toLatitudeDeg: number;
  /** Clearness in midwinter and midsummer. */
  readonly clearness: readonly [winter: number, summer: number];
  /** Air in midwinter and midsummer, °C: lowlands, between sea and continent. */
  readonly airC: readonly [winter: number, summer: number];
}

/** Recalled from memory of climate tables, rounded: a place inside a band may lie 0.1 of clearness and 8 K off. */
const BANDS: readonly Band[] = [
  { toLatitudeDeg: 10, clearness: [0.5, 0.46], airC: [26, 26] },
  { toLatitudeDeg: 22, clearness: [0.6, 0.5], airC: [21, 27] },
  { toLatitudeDeg: 33, clearness: [0.56, 0.6], airC: [12, 28] },
  { toLatitudeDeg: 42, clearness: [0.46, 0.58], airC: [5, 24] },
  { toLatitudeDeg: 50, clearness: [0.33, 0.51], airC: [2, 20] },
  { toLatitudeDeg: 58, clearness: [0.28, 0.46], airC: [2, 16] },
  { toLatitudeDeg: 66, clearness: [0.25, 0.47], airC: [-5, 15] },
  { toLatitudeDeg: 90, clearness: [0.25, 0.46], airC: [-12, 10] },
];
/** Hottest and brightest a little after the solstice: mid-July in the north. From memory. */
const PEAK_MONTH = 6.5;

/** Where the figures of `defaultClimate` come from, for whoever reads them. */
export const DEFAULT_CLIMATE_SOURCE =
  'typical of the latitude, from memory of climate tables; a place may differ by 0.1 of clearness and 8 K';

/**
 * Clearness and air temperature of a place from its latitude alone.
 *
 * @param latitudeDeg  −90 … 90; south of the equator six months later
 * @returns twelve values each, January first; a cosine between winter and summer of the latitude band
 * @accuracy clearness within 0.12 of the measured months of five places (17 … 56° N), up to 0.2 too dull in a desert; air within
 *           10 K: test/reference/energy/default-climate.test.ts
 * @source from memory: see BANDS
 */
export function defaultClimate(latitudeDeg: number): SiteClimate {
  const band = BANDS.find((one) => Math.abs(latitudeDeg) <= one.toLatitudeDeg)!;
  const peak = latitudeDeg < 0 ? PEAK_MONTH - 6 : PEAK_MONTH;
  const season = ([winter, summer]: readonly [number, number]): MonthlyValues =>
    Array.from({ length: 12 }, (_, month) => {
      const share = (1 + Math.cos(((month + 0.5 - peak) / 12) * 2 * Math.PI)) / 2;
      return winter + (summer - winter) * share;
    });
  return { clearnessByMonth: season(band.clearness), airCByMonth: season(band.airC) };
}
