import type { Position, PowerSystem } from '@duskline/domain';
import {
  arrayToLoadByMonth,
  autonomyDaysOf,
  type AutonomyNeeds,
  type BatteryPack,
  batteryForAutonomyWh,
  batteryPackOf,
  chargeBlock,
  chargerOf,
  type DailyWeather,
  DESIGN_ADVICE,
  panelForRatioW,
  walkDays,
} from '@duskline/energy';
import { LEAST_DARK_H } from '../least-dark-h.ts';
import type { SiteClimate } from './default-climate.ts';
import { monthOfDay, MONTH_DAYS } from './month-days.ts';
import { smallestThat } from './smallest-that.ts';
import { DAYS_PER_YEAR, type DrawClearness, weatherYears } from './weather-years.ts';

export interface SizingInputs {
  readonly position: Position;
  readonly power: PowerSystem;
  /** Mean load while up, > 0 W. */
  readonly loadW: number;
  /** Wished share of time up, 0.5 … 0.999. */
  readonly reliabilityRatio: number;
  /** How much hangs on it: what the textbook asks for. */
  readonly criticality: 'ordinary' | 'critical';
  readonly climate: SiteClimate;
  readonly seed: number;
  /** Years of made-up weather; 20 when left out. */
  readonly years?: number;
  /** Other weather than the library's; for tests. */
  readonly drawClearness?: DrawClearness;
}

export interface SizedMonth {
  /** 0 = January. */
  readonly month: number;
  readonly clearness: number;
  /** What the panel can give the charger, mean a day. */
  readonly harvestWhPerDay: number;
  /** Into the battery over out of it, as IEEE 1562 has it. */
  readonly arrayToLoad: number;
  /** Mean days shut down in the month. */
  readonly darkDays: number;
  /** Share of years in which the node goes dark, or is dark, in the month. */
  readonly chanceDark: number;
  /** Mean days on which cold or heat forbids charging. */
  readonly blockedDays: number;
}

/** A panel with a battery that meets the wish together. */
export interface DesignPair {
  readonly panelW: number;
  readonly batteryWh: number;
  readonly autonomyDays: number;
}

export interface SizedSite {
  readonly months: readonly SizedMonth[];
  /** Index of the month with the lowest array-to-load ratio. */
  readonly worstMonth: number;
  /** Share of time up with the design as it is. */
  readonly upRatio: number;
  readonly darkDaysPerYear: number;
  readonly meetsWish: boolean;
  /** Days without any sun in the cold of the worst month, from full to the shut-down level. */
  readonly autonomyDays: number;
  /** The textbook's way for the same load, place and depth. */
  readonly textbook: {
    readonly batteryWh: readonly [least: number, most: number];
    /** Undefined in a month without sun. */
    readonly panelW: readonly [least: number, most: number] | undefined;
    readonly autonomyDays: readonly [least: number, most: number];
    readonly arrayToLoad: readonly [least: number, most: number];
  };
  /** Undefined: no panel, or no battery, within 1/50 … 50 times the present one meets the wish. */
  readonly smallestPanelW: number | undefined;
  readonly smallestBatteryWh: number | undefined;
  /** Pairs that meet the wish, from the smallest battery up. */
  readonly pairs: readonly DesignPair[];
  readonly years: number;
}

const DEFAULT_YEARS = 20;
const SPAN = 50;
const PAIR_AUTONOMY_DAYS = [3, 5, 7, 10, 14] as const;

/**
 * What a panel and a battery do at a place over many made-up years, and the smallest ones that keep the node up as wished, with
 * the textbook's autonomy and array-to-load ratio beside it.
 *
 * A self-restarting node may go dark, which the textbook does not foresee: so dark days are told by month, not forbidden.
 *
 * @throws EnergyInputError, RangeError when an input is out of range
 * @accuracy by chance ±0.3 days a month with 20 years; by the weather of a place as good as its twelve clearness values
 * @source weather: `weatherYears`; balance: `walkDays`; textbook: IEEE 1562/1013 as quoted in `DESIGN_ADVICE`
 */
export function sizeSite(inputs: SizingInputs): SizedSite {
  const { position, power, loadW, reliabilityRatio, climate, seed } = inputs;
  const years = inputs.years ?? DEFAULT_YEARS;
  const weather = weatherYears({ ...inputs, panel: power.panel, climate, position, years, seed });
  const { panelShare } = chargerOf(power.charger);
  const packOf = (ratedWh: number): BatteryPack =>
    batteryPackOf({ ...power, battery: { ...power.battery, ratedWh } });
  const { ratedW } = power.panel;
  const { ratedWh } = power.battery;
  const pack = packOf(ratedWh);
  const darkHOf = (of: BatteryPack, panelW: number): Float64Array =>
    walkDays(of, { panelW: panelW * panelShare, loadW }, weather).darkH;
  const willDo = (of: BatteryPack, panelW: number): boolean =>
    upRatioOf(darkHOf(of, panelW)) >= reliabilityRatio;

  const darkH = darkHOf(pack, ratedW);
  const months = monthsOf({ weather, darkH, pack, panelW: ratedW * panelShare, loadW, climate });
  const ratios = months.map((month) => month.arrayToLoad);
  const worstMonth = ratios.indexOf(Math.min(...ratios));
  const needs = {
    dailyLoadWh: loadW * 24,
    depthRatio: 1 - power.shutDownRatio,
    temperatureFactor: pack.facts.capacityFactorAt(climate.airCByMonth[worstMonth]!),
    conversionEfficiency: pack.dischargeEfficiency,
  };
  const panels = [ratedW / SPAN, ratedW * SPAN] as const;
  const upRatio = upRatioOf(darkH);
  return {
    months,
    worstMonth,
    upRatio,
    darkDaysPerYear: (1 - upRatio) * DAYS_PER_YEAR,
    meetsWish: upRatio >= reliabilityRatio,
    autonomyDays: autonomyDaysOf(needs, ratedWh),
    textbook: textbookOf(inputs, needs, months[worstMonth]!.harvestWhPerDay / ratedW),
    smallestPanelW: smallestThat((panelW) => willDo(pack, panelW), panels),
    smallestBatteryWh: smallestThat(
      (wh) => willDo(packOf(wh), ratedW),
      [ratedWh / SPAN, ratedWh * SPAN],
    ),
    pairs: pairsOf(
      needs,
      (batteryWh, range) => {
        const of = packOf(batteryWh);
        return smallestThat((watts) => willDo(of, watts), range);
      },
      panels,
    ),
    years,
  };
}

/** From the smallest battery up: a larger one never needs a larger panel, so each search starts under the last. */
function pairsOf(
  needs: AutonomyNeeds,
  smallestPanelW: (batteryWh: number, range: readonly [number, number]) => number | undefined,
  range: readonly [number, number],
): readonly DesignPair[] {
  const pairs: DesignPair[] = [];
  let [leastW, mostW] = range;
  for (const autonomyDays of PAIR_AUTONOMY_DAYS) {
    const batteryWh = batteryForAutonomyWh(needs, autonomyDays);
    const panelW = smallestPanelW(batteryWh, [leastW, mostW]);
    if (panelW === undefined) continue;
    pairs.push({ panelW, batteryWh, autonomyDays });
    mostW = panelW;
    leastW = Math.max(range[0], panelW / 3);
  }
  return pairs;
}

function upRatioOf(darkH: Float64Array): number {
  let sum = 0;
  for (const hours of darkH) sum += hours;
  return 1 - sum / (24 * darkH.length);
}

function monthsOf(facts: {
  readonly weather: DailyWeather;
  readonly darkH: Float64Array;
  readonly pack: BatteryPack;
  readonly panelW: number;
  readonly loadW: number;
  readonly climate: SiteClimate;
}): readonly SizedMonth[] {
  const { weather, darkH, pack, panelW, loadW, climate } = facts;
  const years = darkH.length / DAYS_PER_YEAR;
  const harvestWh = new Array<number>(12).fill(0);
  const darkHours = new Array<number>(12).fill(0);
  const darkYears = new Array<number>(12).fill(0);
  const blocked = new Array<number>(12).fill(0);
  for (let year = 0; year < years; year += 1) {
    const wasDark = new Set<number>();
    for (let day = 0; day < DAYS_PER_YEAR; day += 1) {
      const month = monthOfDay(day);
      const at = year * DAYS_PER_YEAR + day;
      harvestWh[month]! += panelW * weather.harvestWhPerRatedW[at]!;
      darkHours[month]! += darkH[at]!;
      if (darkH[at]! > LEAST_DARK_H) wasDark.add(month);
      if (chargeBlock(pack.facts, weather.batteryC[at]!) !== undefined) blocked[month]! += 1;
    }
    for (const month of wasDark) darkYears[month]! += 1;
  }
  const harvestWhPerDay = harvestWh.map((wh, month) => wh / (MONTH_DAYS[month]! * years));
  const { ratios } = arrayToLoadByMonth({
    arrayWhPerDay: harvestWhPerDay,
    loadWhPerDay: loadW * 24,
    pathEfficiency: pack.chargerEfficiency * pack.chargeEfficiency * pack.dischargeEfficiency,
  });
  return harvestWhPerDay.map((wh, month) => ({
    month,
    clearness: climate.clearnessByMonth[month]!,
    harvestWhPerDay: wh,
    arrayToLoad: ratios[month]!,
    darkDays: darkHours[month]! / 24 / years,
    chanceDark: darkYears[month]! / years,
    blockedDays: blocked[month]! / years,
  }));
}

function textbookOf(
  { criticality, loadW, power }: SizingInputs,
  needs: AutonomyNeeds,
  worstWhPerRatedW: number,
): SizedSite['textbook'] {
  const { autonomyDays, arrayToLoad } = DESIGN_ADVICE[criticality];
  const pack = batteryPackOf(power);
  const pathEfficiency = pack.chargerEfficiency * pack.chargeEfficiency * pack.dischargeEfficiency;
  const panelFor = (ratio: number): number =>
    panelForRatioW({
      ratio,
      dailyLoadWh: loadW * 24,
      peakSunHours: worstWhPerRatedW,
      pathEfficiency,
    });
  return {
    batteryWh: [
      batteryForAutonomyWh(needs, autonomyDays[0]),
      batteryForAutonomyWh(needs, autonomyDays[1]),
    ],
    panelW:
      worstWhPerRatedW < 1e-3 ? undefined : [panelFor(arrayToLoad[0]), panelFor(arrayToLoad[1])],
    autonomyDays,
    arrayToLoad,
  };
}
