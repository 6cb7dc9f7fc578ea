import { HOUR_MS } from '@duskline/domain';
import type { PastHours } from './past-hours.ts';
import { huberMean, median, robustSigma } from './robust.ts';

/** What the node draws by hour of the day, how much days differ, and how sure that is. */
export interface LoadProfile {
  /** Expected load by hour of the UTC day, W, 24 long. */
  readonly byUtcHourW: Float64Array;
  /** Standard deviation of the logarithm of a day's load about the expected. */
  readonly daySigma: number;
  /** Standard deviation of the logarithm of the expected load itself. */
  readonly levelSigma: number;
  /** Logarithm of the newest day's load against the expected, and that day (0 = today). */
  readonly lastResidual: number;
  readonly lastDay: number;
  readonly days: number;
  readonly from: 'measured' | 'charge-by-night';
  /** The newest lasting change among these days: its first solar day, and the load before and after it. */
  readonly step?: {
    readonly day: number;
    readonly fromWhPerDay: number;
    readonly toWhPerDay: number;
  };
}

/** Day-to-day memory of the load: φ of the AR(1) in its logarithm. Starting value, to be learnt on open data. */
export const LOAD_MEMORY = 0.7;
/** Doubt about a load that no reading of late tells. Assumption, no source. */
export const HIDDEN_LOAD_SIGMA = 0.1;
const DAYS_KEPT = 14;
const HALF_LIFE_DAYS = 7;
const LEAST_SIGMA = 0.03;
const MOST_SIGMA = 0.6;
/** A day counts towards the level when this many of its hours were heard. */
const LEAST_HOURS = 6;
const STEP_DEVIATIONS = 4;
const STEP_DAYS = 2;
/** Least night hours with charge at both ends for a night to tell the load. */
const LEAST_NIGHT_HOURS = 4;

interface DayLoad {
  readonly day: number;
  /** The day's load against the profile's. */
  readonly level: number;
}

/**
 * Learns the load: a median day of the last 14 alive days, a robust recent level, and the scatter of days about it.
 *
 * Where the node reports no load, the fall of its charge by night tells the mean, and the day is taken as flat.
 *
 * @param past        the hours to learn from (the newest alive days count)
 * @param capacityWh  energy of the battery from empty to full, > 0: turns a fall of charge into a load
 * @param sinceMs     earlier hours are those of another load
 * @returns undefined when there is neither a load reading nor a night with charge readings
 * @source ours: science of robust location (Huber 1964), exponential forgetting with half-life 7 d
 */
export function loadProfile(
  past: PastHours,
  capacityWh: number,
  sinceMs = Number.NEGATIVE_INFINITY,
): LoadProfile | undefined {
  const sinceHours = Math.ceil((sinceMs - past.history.startMs) / HOUR_MS);
  const firstHour = Math.min(past.count, Math.max(0, sinceHours));
  const measured = measuredDays(past, firstHour);
  if (measured !== undefined) {
    const { profileW, days } = measured;
    const { from } = lastStep(days);
    if (from === 0) return settle(profileW, days, 'measured');
    // After a lasting change the old days tell nothing of the new day's shape either.
    const newest = measuredDays(past, Math.max(firstHour, past.day.indexOf(days[from]!.day)));
    if (newest === undefined) return settle(profileW, days, 'measured');
    const ratio = sumOf(newest.profileW) / sumOf(profileW);
    const older = days.slice(0, from).map(({ day, level }) => ({ day, level: level / ratio }));
    return settle(newest.profileW, [...older, ...newest.days], 'measured');
  }
  const nights = nightDays(past, capacityWh, firstHour);
  if (nights === undefined) return undefined;
  return settle(nights.profileW, nights.days, 'charge-by-night');
}

interface Gathered {
  readonly profileW: Float64Array;
  readonly days: readonly DayLoad[];
}

function measuredDays({ history, count, day }: PastHours, firstHour: number): Gathered | undefined {
  const firstDay = firstAliveDay(history.loadW, day, { firstHour, count });
  if (firstDay === undefined) return undefined;

  const byHour: number[][] = Array.from({ length: 24 }, () => []);
  for (let i = count - 1; i >= firstHour && day[i]! >= firstDay; i--) {
    const loadW = history.loadW[i] ?? null;
    if (loadW !== null) byHour[utcHour(history.startMs, i)]!.push(Math.max(0, loadW));
  }
  const medians = byHour.map((values) => (values.length > 0 ? median(values) : undefined));
  const known = medians.filter((value) => value !== undefined);
  const meanW = known.reduce((sum, value) => sum + value, 0) / known.length;
  const profileW = Float64Array.from(medians, (value) => value ?? meanW);

  const sums = new Map<number, { loadWh: number; expectedWh: number; hours: number }>();
  for (let i = count - 1; i >= firstHour && day[i]! >= firstDay; i--) {
    const loadW = history.loadW[i] ?? null;
    if (loadW === null) continue;
    const sum = sums.get(day[i]!) ?? { loadWh: 0, expectedWh: 0, hours: 0 };
    sum.loadWh += Math.max(0, loadW);
    sum.expectedWh += profileW[utcHour(history.startMs, i)]!;
    sum.hours++;
    sums.set(day[i]!, sum);
  }
  const all = [...sums].sort(([a], [b]) => a - b);
  const full = all.filter(([, sum]) => sum.hours >= LEAST_HOURS);
  const days = (full.length > 0 ? full : all)
    .filter(([, sum]) => sum.expectedWh > 0)
    .map(([number, sum]) => ({ day: number, level: sum.loadWh / sum.expectedWh }));
  return { profileW, days };
}

/** The first of the last 14 days on which the series was read at all. */
function firstAliveDay(
  series: readonly (number | null)[],
  day: Int32Array,
  { firstHour, count }: { readonly firstHour: number; readonly count: number },
): number | undefined {
  let alive = 0;
  let newest: number | undefined;
  for (let i = count - 1; i >= firstHour; i--) {
    if ((series[i] ?? null) === null || day[i] === newest) continue;
    if (alive === DAYS_KEPT) break;
    newest = day[i]!;
    alive++;
  }
  return newest;
}

function nightDays(past: PastHours, capacityWh: number, firstHour: number): Gathered | undefined {
  const { history, day, spans, referenceWh } = past;
  const recent = spans.at(-1);
  if (recent === undefined) return undefined;
  const nights = new Map<number, { fall: number; hours: number }>();
  for (let i = Math.max(recent.from, firstHour); i + 1 < recent.to; i++) {
    if (referenceWh[i] !== 0 || referenceWh[i + 1] !== 0) continue;
    const now = history.chargeRatio[i] ?? null;
    const next = history.chargeRatio[i + 1] ?? null;
    if (now === null || next === null) continue;
    const night = nights.get(day[i]!) ?? { fall: 0, hours: 0 };
    night.fall += now - next;
    night.hours++;
    nights.set(day[i]!, night);
  }
  const meansW = [...nights]
    .filter(([, night]) => night.hours >= LEAST_NIGHT_HOURS)
    .sort(([a], [b]) => a - b)
    .slice(-DAYS_KEPT)
    .map(([number, { fall, hours }]) => ({ day: number, loadW: (fall * capacityWh) / hours }));
  if (meansW.length === 0) return undefined;
  const middleW = Math.max(0, median(meansW.map(({ loadW }) => loadW)));
  const days = meansW.map(({ day: number, loadW }) => ({
    day: number,
    level: middleW > 0 ? Math.max(0, loadW) / middleW : 1,
  }));
  return { profileW: new Float64Array(24).fill(middleW), days };
}

function settle(
  profileW: Float64Array,
  days: readonly DayLoad[],
  from: LoadProfile['from'],
): LoadProfile {
  const newest = days.at(-1);
  if (newest === undefined)
    return {
      byUtcHourW: profileW,
      daySigma: LEAST_SIGMA,
      levelSigma: LEAST_SIGMA,
      lastResidual: 0,
      lastDay: Number.NEGATIVE_INFINITY,
      days: 0,
      from,
    };
  const { from: firstDay, before } = lastStep(days);
  const { level, daySigma, used } = robustLevel(days.slice(firstDay), before?.sigma);
  const wholeWh = sumOf(profileW);
  return {
    byUtcHourW: profileW.map((loadW) => loadW * level),
    daySigma,
    levelSigma: daySigma / Math.sqrt(used),
    lastResidual: newest.level > 0 && level > 0 ? Math.log(newest.level / level) : 0,
    lastDay: newest.day,
    days: used,
    from,
    ...(before !== undefined && {
      step: {
        day: days[firstDay]!.day,
        fromWhPerDay: before.level * wholeWh,
        toWhPerDay: level * wholeWh,
      },
    }),
  };
}

/**
 * The days since the load last changed for good: two days running lie more than four deviations off the level of those
 * before, on the same side: one wild day is no step. Gone through day by day, so that a step is still known when most days lie after it.
 *
 * @returns index of the first day after it (0: no step), and what was before
 */
function lastStep(days: readonly DayLoad[]): {
  readonly from: number;
  readonly before?: { readonly level: number; readonly sigma: number };
} {
  let from = 0;
  let before: { level: number; sigma: number } | undefined;
  for (let end = 2 * STEP_DAYS + 1; end <= days.length; end++) {
    if (end - from <= 2 * STEP_DAYS) continue;
    const { level, daySigma } = robustLevel(days.slice(from, end - STEP_DAYS));
    const off = days.slice(end - STEP_DAYS, end).map((day) => day.level - level);
    const isFar = (side: number): boolean =>
      off.every((by) => side * by > STEP_DEVIATIONS * daySigma);
    if (!isFar(1) && !isFar(-1)) continue;
    before = { level, sigma: daySigma };
    from = end - STEP_DAYS;
  }
  return { from, ...(before !== undefined && { before }) };
}

/** Too few days tell their own scatter: they take twice that of the days before the step. */
const FEW_DAYS = 5;

function robustLevel(
  days: readonly DayLoad[],
  sigmaBefore?: number,
): { readonly level: number; readonly daySigma: number; readonly used: number } {
  const levels = days.map(({ level }) => level);
  const own = clampSigma(robustSigma(levels, median(levels)));
  const isFresh = sigmaBefore !== undefined && days.length < FEW_DAYS;
  const daySigma = isFresh ? clampSigma(2 * Math.max(own, sigmaBefore)) : own;
  const newestDay = days.at(-1)!.day;
  const weights = days.map(({ day }) => 0.5 ** ((newestDay - day) / HALF_LIFE_DAYS));
  return { level: huberMean(levels, weights, daySigma), daySigma, used: levels.length };
}

const sumOf = (values: Float64Array): number => values.reduce((sum, value) => sum + value, 0);

const clampSigma = (sigma: number): number => Math.min(MOST_SIGMA, Math.max(LEAST_SIGMA, sigma));

/** Hour of the UTC day, 0–23, in the middle of hour `index` after `startMs`. */
export function utcHour(startMs: number, index: number): number {
  return Math.floor((startMs + (index + 0.5) * HOUR_MS) / HOUR_MS) % 24;
}
