import type { CrossLimits } from '@duskline/domain';

/** How people type a limit: in the unit it is kept in, or seconds as minutes. */
interface CrossField {
  readonly limit: keyof CrossLimits;
  readonly unit: string;
  readonly perUnit: number;
  /** As people type it. */
  readonly least: number;
  readonly most: number;
}

const field = (
  limit: keyof CrossLimits,
  unit: string,
  [least, most]: readonly [number, number],
  perUnit = 1,
): CrossField => ({ limit, unit, least, most, perUnit });
const MINUTE_S = 60;
const DAY_MIN = 1440;
/** Large enough for any fleet: it only keeps a slip of the finger out. */
const ANY = 10_000;

/** Readings that are held against each other or against the sun: which limits belong to one test. */
export const crossGroups = {
  night: [
    field('nightBelowDeg', '°', [-18, 5]),
    field('panelWAtNight', 'W', [0, ANY]),
    field('panelAAtNight', 'A', [0, ANY]),
    field('panelVAtNight', 'V', [0, ANY]),
  ],
  dewPoint: [field('dewPointAboveAirC', '°C', [0, 50])],
  gust: [field('gustBelowMeanMs', 'm/s', [0, 75])],
  clearSky: [
    field('clearSkyRatio', '×', [1, 10]),
    field('clearSkyS', 'min', [0, DAY_MIN], MINUTE_S),
    field('clearSkyLeastWPerM2', 'W/m²', [0, 1500]),
  ],
  chargeJump: [
    field('chargeJumpPct', '%', [0.1, 100]),
    field('chargeJumpS', 'min', [1, DAY_MIN], MINUTE_S),
  ],
  noLight: [field('currentA', 'A', [0, ANY]), field('currentBelowWPerM2', 'W/m²', [0, 1500])],
  dryRain: [field('rainMm', 'mm', [0, 50]), field('rainBelowRhPct', '%', [0, 100])],
} as const satisfies Record<string, readonly CrossField[]>;

export type CrossGroup = keyof typeof crossGroups;
export const crossGroupKeys = Object.keys(crossGroups) as readonly CrossGroup[];
