import { type MonthlyValues, requireMonthly } from '../monthly-value.ts';
import { requireWithin } from '../require-number.ts';

/** What the textbook asks of a design, by how much hangs on it. */
export interface DesignAdvice {
  readonly autonomyDays: readonly [least: number, most: number];
  readonly arrayToLoad: readonly [least: number, most: number];
}

/**
 * IEEE Std 1562 §9.1 as quoted by a public summary for the ratios; its days of autonomy, and those of IEEE Std 1013, from memory.
 * Neither was read itself. Both are for lead–acid batteries by their scope.
 */
export const DESIGN_ADVICE: Readonly<Record<'ordinary' | 'critical', DesignAdvice>> = {
  ordinary: { autonomyDays: [5, 7], arrayToLoad: [1.1, 1.2] },
  critical: { autonomyDays: [7, 14], arrayToLoad: [1.3, 1.4] },
};

/**
 * Energy into the battery over energy out of it, month by month, and the month that decides the design.
 *
 * @param inputs.arrayWhPerDay  twelve means of what the panel gives a day, ≥ 0, before the path
 * @param inputs.loadWhPerDay   a day's load, > 0: one for all months, or twelve
 * @param inputs.pathEfficiency of wiring, charger and battery, 0 … 1
 * @returns the ratio of each month, January first, and the index 0 … 11 of the lowest
 * @throws EnergyInputError when there are not twelve numbers or one is out of range
 * @source IEEE Std 1562 §9.1 as quoted by a public summary: the design month is the one with the lowest ratio
 */
export function arrayToLoadByMonth(inputs: {
  readonly arrayWhPerDay: MonthlyValues;
  readonly loadWhPerDay: number | MonthlyValues;
  readonly pathEfficiency: number;
}): { readonly ratios: MonthlyValues; readonly worstMonth: number } {
  const { arrayWhPerDay, loadWhPerDay, pathEfficiency } = inputs;
  requireMonthly('arrayWhPerDay', arrayWhPerDay);
  if (typeof loadWhPerDay !== 'number') requireMonthly('loadWhPerDay', loadWhPerDay);
  requireWithin('pathEfficiency', pathEfficiency, [0, 1]);
  const ratios = arrayWhPerDay.map((arrayWh, month) => {
    const loadWh = typeof loadWhPerDay === 'number' ? loadWhPerDay : loadWhPerDay[month]!;
    requireWithin('loadWhPerDay', loadWh, [Number.MIN_VALUE, Number.MAX_VALUE]);
    return (arrayWh * pathEfficiency) / loadWh;
  });
  return { ratios, worstMonth: ratios.indexOf(Math.min(...ratios)) };
}

/**
 * Rated power of a panel for a wished ratio of array to load.
 *
 * @param inputs.ratio          array-to-load ratio, > 0; see DESIGN_ADVICE
 * @param inputs.dailyLoadWh    > 0
 * @param inputs.peakSunHours   of the worst month on the plane of the panel, h a day, > 0
 * @param inputs.pathEfficiency of wiring, charger, soil and heat, 0 … 1
 * @returns W
 * @throws EnergyInputError when a number is out of range
 * @accuracy 0.01 W on 12 worked cases, test/reference/energy/sizing.test.ts
 * @source IEEE Std 1562 as commonly quoted, from memory: array = ratio × load ÷ (peak-sun hours × efficiency)
 */
export function panelForRatioW(inputs: {
  readonly ratio: number;
  readonly dailyLoadWh: number;
  readonly peakSunHours: number;
  readonly pathEfficiency: number;
}): number {
  const { ratio, dailyLoadWh, peakSunHours, pathEfficiency } = inputs;
  requireWithin('ratio', ratio, [Number.MIN_VALUE, 100]);
  requireWithin('dailyLoadWh', dailyLoadWh, [Number.MIN_VALUE, Number.MAX_VALUE]);
  requireWithin('peakSunHours', peakSunHours, [1e-6, 24]);
  requireWithin('pathEfficiency', pathEfficiency, [0.01, 1]);
  return (ratio * dailyLoadWh) / (peakSunHours * pathEfficiency);
}
