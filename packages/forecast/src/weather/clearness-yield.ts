import { DAY_MS, type Position, type PowerSystem } from '@duskline/domain';
import {
  dailyExtraterrestrialMj,
  dayOfYear,
  dayUnderClouds,
  solarDayStartMs,
} from '@duskline/energy';

/** Turns the daily clearness of the sky into the yield ratio of a panel, and back. Days are counted from `startMs`'s. */
export interface ClearnessYield {
  /** Yield ratio of a solar day, for a daily clearness ≥ 0. */
  ratio(day: number, clearness: number): number;
  /** The clearness that gives a yield ratio; the brightest possible when the ratio is beyond it. */
  clearness(day: number, ratio: number): number;
  /** Clearness of a cloudless solar day. */
  cloudless(day: number): number;
}

/** Shares of the cloudless sky's daily sum at which the chain is worked out; straight lines between. */
const INDICES = [0, 0.1, 0.25, 0.4, 0.55, 0.7, 0.85, 1, 1.3] as const;
const MOST_DAYS_BETWEEN = 30;
const JOULES_PER_WH = 3600;
/** Days darker than this (Wh/m² on the level) have no clearness: polar night. */
const DARK_WHM2 = 20;

const KNOTS = INDICES.length;

/** The chain on one date: clearness of a cloudless day, then the yield ratio at each of INDICES. */
type Anchor = readonly number[];

/**
 * What a panel yields under days of given clearness: clearness × sunlight above the air = level irradiance, spread over the day
 * as under a cloudless sky, split by Erbs, laid on the plane, through glass and cell, over the same under a cloudless sky.
 *
 * @param inputs.startMs  an instant in day 0
 * @param inputs.fromDay   first solar day asked for, may be before day 0
 * @param inputs.days      how many days are asked for; the chain is worked out every 30 days or closer and interpolated
 * @throws EnergyInputError when place or panel are out of range
 * @accuracy 0.02 against the chain on the day itself: clearness-yield.test.ts
 * @source the chain of `createPanelChain`; clearness: Duffie & Beckman §2.9, eq. 2.9.2
 */
export function clearnessYield(inputs: {
  readonly position: Position;
  readonly panel: PowerSystem['panel'];
  readonly startMs: number;
  readonly fromDay?: number;
  readonly days: number;
}): ClearnessYield {
  const { position, panel, fromDay = 0, days } = inputs;
  const startMs = solarDayStartMs(inputs.startMs, position.longitudeDeg) + fromDay * DAY_MS;
  const spans = Math.max(1, Math.ceil(days / MOST_DAYS_BETWEEN));
  const stride = Math.max(1, days / spans);
  const anchors = Array.from({ length: spans + 1 }, (_, i) =>
    anchorOf(position, panel, startMs + Math.round(i * stride) * DAY_MS),
  );
  const width = KNOTS + 1;
  const table = new Float64Array((Math.floor(days) + 1) * width);
  for (let day = 0; day <= days; day++) {
    const index = Math.min(spans - 1, Math.floor(day / stride));
    const share = Math.min(1, day / stride - index);
    for (let knot = 0; knot < width; knot++) {
      const low = anchors[index]![knot]!;
      table[day * width + knot] = low + share * (anchors[index + 1]![knot]! - low);
    }
  }
  const lastRow = Math.floor(days);
  const rowOf = (day: number): number => Math.min(lastRow, Math.max(0, day - fromDay)) * width;
  return {
    ratio: (day, clearness) => {
      const row = rowOf(day);
      const index = clearness / table[row]!;
      let next = 1;
      while (next < KNOTS - 1 && INDICES[next]! < index) next++;
      const low = INDICES[next - 1]!;
      const share = Math.min(1, Math.max(0, (index - low) / (INDICES[next]! - low)));
      const from = table[row + next]!;
      return from + share * (table[row + next + 1]! - from);
    },
    clearness: (day, ratio) => {
      const row = rowOf(day);
      let next = 1;
      while (next < KNOTS - 1 && table[row + 1 + next]! < ratio) next++;
      const from = table[row + next]!;
      const rise = table[row + next + 1]! - from;
      const share = rise > 0 ? Math.min(1, Math.max(0, (ratio - from) / rise)) : 1;
      const low = INDICES[next - 1]!;
      return table[row]! * (low + share * (INDICES[next]! - low));
    },
    cloudless: (day) => table[rowOf(day)]!,
  };
}

function anchorOf(position: Position, panel: PowerSystem['panel'], dayStartMs: number): Anchor {
  const { levelWhM2, cloudlessWh, dimmedWh } = dayUnderClouds({
    position,
    panel: { ...panel, ratedW: 1 },
    startMs: dayStartMs,
    clearSkyIndices: INDICES.slice(1),
  });
  const aboveAirWhM2 =
    (dailyExtraterrestrialMj(position.latitudeDeg, dayOfYear(dayStartMs + DAY_MS / 2)) * 1e6) /
    JOULES_PER_WH;
  if (aboveAirWhM2 < DARK_WHM2 || levelWhM2 < DARK_WHM2 || cloudlessWh === 0)
    return [0.7, ...INDICES];
  return [levelWhM2 / aboveAirWhM2, 0, ...dimmedWh.map((energyWh) => energyWh / cloudlessWh)];
}
