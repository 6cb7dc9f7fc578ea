import { DAY_MS, HOUR_MS } from '@duskline/domain';
import { dailyExtraterrestrialMj, dayOfYear } from '@duskline/energy';
import {
  balanceDaysToEmpty,
  brierScore,
  crpsWithinHorizon,
  isCovered,
  monthlyBaseRate,
  noSunDaysToEmpty,
} from '@duskline/forecast';
import { type OpenWeather, readOpenWeather } from '../open-weather.ts';
import {
  type Design,
  type Hidden,
  liveTruthNode,
  NOTHING_HIDDEN,
  powerPerRatedWatt,
  type TruthNode,
} from '../truth-node.ts';
import type { GradedOutlook, GradedReturn } from './graded.ts';
import { bareBootstrapDays } from './bare-bootstrap.ts';
import { emptyDaysAt, HORIZON_DAYS, returnDaysAt, type Watched } from './issue-outlook.ts';
import { trueDaysFrom } from './true-days.ts';

export interface BacktestOptions {
  readonly folder: string;
  /** Hide panel scale, capacity, tilt and a charge error from the forecaster. */
  readonly hidden: boolean;
  /** True days given as an outside forecast; 0: none. */
  readonly outsideDays: number;
  readonly everyDays: number;
  readonly paths: number;
  /** The forecaster's own past, days; 60 when left out. */
  readonly historyDays?: number;
  /** Also have the same chain say what it would without knowing a full battery's hours from dull ones. */
  readonly withTrap?: boolean;
  /** Only these designs, by name; undefined: all six. */
  readonly designs?: readonly string[];
}

export interface SiteResult {
  readonly site: string;
  readonly station: string;
  readonly outlooks: readonly GradedOutlook[];
  readonly returns: readonly GradedReturn[];
  readonly refused: number;
}

const DESIGNS: readonly Design[] = [0.8, 1.1, 1.5].flatMap((arrayToLoad) =>
  [3, 7].map((autonomyDays) => ({ arrayToLoad, autonomyDays })),
);
const DAYS_PER_YEAR = 365.25;
const BLOCK_DAYS = 30;
const MOST_FILLED_SHARE = 0.2;
const MOST_TEST_YEARS = 5;
const HISTORY_DAYS = 60;

export const designName = ({ arrayToLoad, autonomyDays }: Design): string =>
  `${arrayToLoad} × ${autonomyDays} d`;

/** The six designs at one station: live them, hide the future, issue, grade. */
export function runSite(file: string, options: BacktestOptions): SiteResult {
  const weather = readOpenWeather(options.folder, file);
  const hours = weather.ghiWm2.length;
  const years = hours / 24 / DAYS_PER_YEAR;
  const testYears = Math.min(MOST_TEST_YEARS, Math.max(1, Math.round(years / 3)));
  const testFromHour = Math.max(90 * 24, hours - Math.round(testYears * DAYS_PER_YEAR) * 24);
  const clearnessByMonth = clearnessOf(weather, testFromHour);
  const filledBefore = runningSum(weather.isFilled);
  const outlooks: GradedOutlook[] = [];
  const returns: GradedReturn[] = [];
  let refused = 0;

  DESIGNS.forEach((design, index) => {
    const deviate = deviates(hashOf(`${weather.station} ${designName(design)}`));
    const hides = options.hidden ? drawHidden(deviate) : undefined;
    const perWatt = powerPerRatedWatt(weather, hides?.tiltErrorDeg);
    const hidden = hides?.hidden ?? NOTHING_HIDDEN;
    const node = liveTruthNode(weather, perWatt, { design, normal: deviate, hidden });
    const watched: Watched = {
      node,
      position: weather,
      startMs: weather.startMs,
      clearnessByMonth,
      chargeSigma: hidden.chargeSigma,
      paths: options.paths,
      historyDays: options.historyDays ?? HISTORY_DAYS,
      seed: index + 1,
      outsideAt: options.outsideDays > 0 ? trueDaysFrom(weather, options.outsideDays) : undefined,
    };
    const baseRates = monthlyBaseRate(
      midnights(weather, 30 * 24, testFromHour - 7 * 24, 1)
        .filter((hour) => node.isDark[hour] === 0)
        .map((hour) => ({ month: monthOf(weather, hour), happened: emptyAfter(node, hour) <= 7 })),
    );
    const lastHour = hours - HORIZON_DAYS * 24;
    for (const hour of midnights(weather, testFromHour, lastHour, options.everyDays)) {
      if (node.isDark[hour] === 1) continue;
      const until = Math.min(hours, hour + HORIZON_DAYS * 24);
      const filled = filledBefore[until]! - filledBefore[hour]!;
      if (filled > MOST_FILLED_SHARE * (until - hour)) continue;
      const days = emptyDaysAt(watched, hour);
      if (days === undefined) {
        refused++;
        continue;
      }
      const bare = bareBootstrapDays(watched, hour);
      const trapped = options.withTrap === true ? emptyDaysAt(watched, hour, 'trapped') : undefined;
      const observed = emptyAfter(node, hour);
      outlooks.push({
        design: designName(design),
        block: Math.floor(hour / 24 / BLOCK_DAYS),
        crpsBareBootstrap: bare && crpsWithinHorizon(bare, observed, HORIZON_DAYS),
        crpsTrapped: trapped && crpsWithinHorizon(trapped, observed, HORIZON_DAYS),
        ...gradeOutlook(node, hour, days, baseRates[monthOf(weather, hour)]!),
      });
    }
    node.returns.forEach((backAt, spell) => {
      const stop = node.stops[spell]!;
      const hour = Math.ceil(stop);
      if (hour < testFromHour || hour > lastHour) return;
      const days = returnDaysAt(watched, stop);
      if (days === undefined || days.length === 0) return;
      const waitDays = (backAt - hour) / 24;
      returns.push({
        design: designName(design),
        block: Math.floor(hour / 24 / BLOCK_DAYS),
        crpsDays: crpsWithinHorizon(days, waitDays, HORIZON_DAYS),
        isCovered: isCovered(rangeOf(days), waitDays, HORIZON_DAYS),
        waitDays,
      });
    });
  });
  return { site: file.replace(/\.csv$/, ''), station: weather.station, outlooks, returns, refused };
}

function gradeOutlook(node: TruthNode, hour: number, days: Float64Array, baseRate: number) {
  const observedDays = emptyAfter(node, hour);
  const dark7 = observedDays <= 7;
  const facts = {
    panelW: node.history.panelW.slice(Math.max(0, hour - 168), hour),
    loadW: node.history.loadW.slice(Math.max(0, hour - 168), hour),
    reserveWh: (node.chargeRatio[hour]! - node.power.shutDownRatio) * node.capacityWh,
  };
  const last24h = balanceDaysToEmpty(facts, 24);
  const last7d = balanceDaysToEmpty(facts, 7 * 24);
  const noSun = noSunDaysToEmpty(facts);
  const p7 = (days.filter((day) => day <= 7).length + 0.5) / (days.length + 1);
  const range = rangeOf(days);
  const brierOf = (rule: number): number => brierScore(rule <= 7 ? 1 : 0, dark7);
  const crpsOf = (rule: number): number => crpsWithinHorizon([rule], observedDays, HORIZON_DAYS);
  const seesRisk = (time: number): boolean => time < HORIZON_DAYS;
  return {
    p7,
    dark7,
    brier: brierScore(p7, dark7),
    brierBaseRate: brierScore(baseRate, dark7),
    brierLast24h: brierOf(last24h),
    brierLast7d: brierOf(last7d),
    brierNoSun: brierOf(noSun),
    crpsDays: crpsWithinHorizon(days, observedDays, HORIZON_DAYS),
    crpsLast24h: crpsOf(last24h),
    crpsLast7d: crpsOf(last7d),
    crpsNoSun: crpsOf(noSun),
    isCovered: isCovered(range, observedDays, HORIZON_DAYS),
    // No-sun reserve sees a risk always, so it does not count here.
    isNonTrivial: [observedDays, range.low, last24h, last7d].some(seesRisk),
    p50Days: Math.min(HORIZON_DAYS, days[Math.ceil(0.5 * days.length) - 1]!),
    meanDays: days.reduce((sum, day) => sum + Math.min(HORIZON_DAYS, day), 0) / days.length,
    observedDays: Math.min(HORIZON_DAYS, observedDays),
  };
}

const rangeOf = (days: Float64Array) => ({
  low: days[Math.ceil(0.1 * days.length - 1e-9) - 1]!,
  high: days[Math.ceil(0.9 * days.length - 1e-9) - 1]!,
});

function emptyAfter(node: TruthNode, hour: number): number {
  const stop = node.stops.find((at) => at >= hour);
  return stop === undefined ? Number.POSITIVE_INFINITY : (stop - hour) / 24;
}

/** Hours at local solar midnight, to the whole hour. */
function midnights(
  { longitudeDeg, startMs }: OpenWeather,
  fromHour: number,
  toHour: number,
  everyDays: number,
): readonly number[] {
  const utcHour = ((Math.round(-longitudeDeg / 15) % 24) + 24) % 24;
  const startUtcHour = Math.round(startMs / HOUR_MS) % 24;
  const found: number[] = [];
  let hour = fromHour + ((utcHour - startUtcHour - (fromHour % 24) + 48) % 24);
  for (; hour < toHour; hour += everyDays * 24) found.push(hour);
  return found;
}

const monthOf = ({ startMs }: OpenWeather, hour: number): number =>
  new Date(startMs + hour * HOUR_MS).getUTCMonth();

/** Twelve monthly means of daily clearness, of the training years alone: what a climate table would say. */
function clearnessOf(weather: OpenWeather, untilHour: number): readonly number[] {
  const above = new Float64Array(12);
  const level = new Float64Array(12);
  for (let hour = 0; hour + 24 <= untilHour; hour += 24) {
    if (weather.isFilled.subarray(hour, hour + 24).some((filled) => filled === 1)) continue;
    const noonMs = weather.startMs + hour * HOUR_MS + DAY_MS / 2;
    const month = new Date(noonMs).getUTCMonth();
    const megajoule = dailyExtraterrestrialMj(weather.latitudeDeg, dayOfYear(noonMs));
    above[month] = above[month]! + (megajoule * 1e6) / 3600;
    level[month] =
      level[month]! + weather.ghiWm2.subarray(hour, hour + 24).reduce((sum, ghi) => sum + ghi, 0);
  }
  const all = level.reduce((a, b) => a + b, 0) / above.reduce((a, b) => a + b, 0);
  return Array.from(above, (sum, month) =>
    Math.min(0.85, Math.max(0.05, sum > 0 ? level[month]! / sum : all)),
  );
}

function drawHidden(deviate: () => number): {
  readonly hidden: Hidden;
  readonly tiltErrorDeg: number;
} {
  // The normal's own distribution function would do; a logistic is near enough to spread values over the range.
  const uniform = (): number => 1 / (1 + Math.exp(-1.702 * deviate()));
  return {
    tiltErrorDeg: -10 + 20 * uniform(),
    hidden: {
      panelScale: 0.6 + 0.4 * uniform(),
      capacityScale: 0.7 + 0.3 * uniform(),
      chargeSigma: 0.05,
    },
  };
}

/** Deviates that owe nothing to the code under test: sum of twelve of a linear congruential sequence. */
function deviates(seed: number): () => number {
  let state = seed;
  // Park & Miller 1988, with the multiplier of 1993: exact in doubles.
  const uniform = (): number => (state = (state * 48_271) % 2_147_483_647) / 2_147_483_647;
  return () => Array.from({ length: 12 }, uniform).reduce((sum, value) => sum + value, -6);
}

function hashOf(text: string): number {
  let hash = 17;
  for (const char of text) hash = (hash * 31 + char.codePointAt(0)!) % 2_147_483_647;
  return hash;
}

function runningSum(values: Uint8Array): Uint32Array {
  const sums = new Uint32Array(values.length + 1);
  values.forEach((value, i) => (sums[i + 1] = sums[i]! + value));
  return sums;
}
