import {
  DAY_MS,
  HOUR_MS,
  type HourlyHistory,
  type Position,
  type PowerSystem,
} from '@duskline/domain';
import { solarDayStartMs } from '@duskline/energy';
import { clearSkyHours } from '../clear-sky-hours.ts';

/** Hours [from, to) of the history. */
export interface HourSpan {
  readonly from: number;
  readonly to: number;
}

/** The hours of the past worth learning from, beside what a cloudless sky would have given in each. */
export interface PastHours {
  readonly history: HourlyHistory;
  /** Hours [0, count) of the history lie before the cut. */
  readonly count: number;
  /** Ascending, without overlap: same season of earlier years, then the last weeks heard. */
  readonly spans: readonly HourSpan[];
  /** Energy of the nominal panel under a cloudless sky, Wh, by hour of the history; filled within the spans only. */
  readonly referenceWh: Float64Array;
  /** What the first and last days of the spans hold beyond the hours of the history, Wh by solar day. */
  readonly beyondWh: ReadonlyMap<number, number>;
  /** Solar day of each hour, counted from the one in which the forecast starts: 0 today, −1 yesterday. */
  readonly day: Int32Array;
  /** Hour of the solar day, 0–23. */
  readonly slot: Uint8Array;
}

/** The pool of §9: the last 60 days heard, and 30 days on either side of today's date in earlier years. */
export const RECENT_DAYS = 60;
const SEASON_HALF_DAYS = 30;
const DAYS_PER_YEAR = 365.25;

/**
 * Lays the history out by solar day and computes the clear-sky yardstick where it will be needed.
 *
 * @param inputs.startMs  where the forecast starts: day 0 holds it
 * @param inputs.untilMs  nothing from this instant on is looked at
 * @returns the hours before `untilMs`; no spans when nothing was ever heard
 */
export function pastHours(inputs: {
  readonly history: HourlyHistory;
  readonly position: Position;
  readonly panel: PowerSystem['panel'];
  readonly startMs: number;
  readonly untilMs: number;
}): PastHours {
  const { history, position, panel, startMs, untilMs } = inputs;
  const hoursBefore = Math.ceil((untilMs - history.startMs) / HOUR_MS);
  const count = Math.max(0, Math.min(history.panelW.length, hoursBefore));
  const day = new Int32Array(count);
  const slot = new Uint8Array(count);
  const todayMs = solarDayStartMs(startMs, position.longitudeDeg);
  for (let i = 0; i < count; i++) {
    const sinceTodayMs = history.startMs + (i + 0.5) * HOUR_MS - todayMs;
    day[i] = Math.floor(sinceTodayMs / DAY_MS);
    slot[i] = Math.floor((sinceTodayMs - day[i]! * DAY_MS) / HOUR_MS);
  }

  const spans = spansToLearnFrom(history, day);
  const yardstick = referenceOf({ history, position, panel }, spans, { count, day, slot });
  return { history, count, spans, ...yardstick, day, slot };
}

/** Whole days are computed, so that a day of which only the morning lies in the past is not taken for a whole one. */
function referenceOf(
  site: Pick<Parameters<typeof pastHours>[0], 'history' | 'position' | 'panel'>,
  spans: readonly HourSpan[],
  { count, day, slot }: Pick<PastHours, 'count' | 'day' | 'slot'>,
): Pick<PastHours, 'referenceWh' | 'beyondWh'> {
  const referenceWh = new Float64Array(count);
  const beyondWh = new Map<number, number>();
  for (const { from, to } of spans) {
    const before = slot[from]!;
    const after = 23 - slot[to - 1]!;
    const wholeDaysWh = clearSkyHours({
      position: site.position,
      panel: site.panel,
      startMs: site.history.startMs + (from - before) * HOUR_MS,
      hours: before + (to - from) + after,
    });
    const inside = wholeDaysWh.subarray(before, before + to - from);
    referenceWh.set(inside, from);
    addTo(beyondWh, day[from]!, wholeDaysWh.subarray(0, before));
    addTo(beyondWh, day[to - 1]!, wholeDaysWh.subarray(before + to - from));
  }
  return { referenceWh, beyondWh };
}

function addTo(byDay: Map<number, number>, day: number, energyWh: Float64Array): void {
  byDay.set(
    day,
    energyWh.reduce((sum, value) => sum + value, byDay.get(day) ?? 0),
  );
}

function spansToLearnFrom(history: HourlyHistory, day: Int32Array): readonly HourSpan[] {
  let last = day.length - 1;
  while (last >= 0 && !isHeard(history, last)) last--;
  if (last < 0) return [];

  const spans: HourSpan[] = [];
  const firstRecentDay = day[last]! - RECENT_DAYS + 1;
  const firstDay = day[0]!;
  const years = Math.ceil(-firstDay / DAYS_PER_YEAR) + 1;
  for (let year = years; year >= 1; year--) {
    const sameDate = Math.round(-year * DAYS_PER_YEAR);
    const from = sameDate - SEASON_HALF_DAYS;
    const to = Math.min(sameDate + SEASON_HALF_DAYS + 1, firstRecentDay);
    addSpan(spans, hoursOfDays(day, from, to));
  }
  const recent = hoursOfDays(day, firstRecentDay, day[last]! + 1);
  addSpan(spans, { from: recent.from, to: Math.min(recent.to, last + 1) });
  return spans;
}

function addSpan(spans: HourSpan[], span: HourSpan): void {
  if (span.to > span.from) spans.push(span);
}

/** Hours whose solar day lies in [fromDay, toDay); the days ascend by one every 24 hours. */
function hoursOfDays(day: Int32Array, fromDay: number, toDay: number): HourSpan {
  return { from: firstHourOf(day, fromDay), to: firstHourOf(day, toDay) };
}

function firstHourOf(day: Int32Array, wanted: number): number {
  let low = 0;
  let high = day.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (day[middle]! < wanted) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** Whether anything of the power system was read in the hour. */
export function isHeard(history: HourlyHistory, hour: number): boolean {
  return (
    history.panelW[hour] != null ||
    history.loadW[hour] != null ||
    history.chargeRatio[hour] != null ||
    history.batteryV[hour] != null
  );
}
