import type { FleetRowJson } from '@duskline/contract';
import { HOUR_MS, SECOND_MS, type NodeState, type TimeSpan } from '@duskline/domain';
import { areaPath, bandPath, linePath, type BandPoint, type Point } from '../charts/path.ts';
import { instantMs, instantMsOr } from '../format/time.ts';
import { backSpan, stopSpan } from './outlook-span.ts';

/** The shared time axis of all rows. */
export interface FleetAxis {
  readonly fromMs: number;
  readonly toMs: number;
}

/** A strip is drawn on 1000 × 100 and stretched: x is time, y is charge with 100 % near the top. */
export const STRIP_WIDTH = 1000;
export const STRIP_HEIGHT = 100;
const TOP_Y = 8;
const BASE_Y = 96;

export interface Stretch {
  readonly x: number;
  readonly width: number;
}

export interface StripGeometry {
  /** Nights that have begun, and those to come, each as one path: a thousand rows have twenty nights each. */
  readonly pastNights: string;
  readonly nightsAhead: string;
  readonly pastLine: string;
  readonly pastArea: string;
  readonly fanBand: string;
  readonly fanMedian: string;
  /** The range of days in which the node would stop; `openEnded` when its end is beyond the axis or unknown. */
  readonly stops?: Stretch & { readonly openEnded: boolean };
  /** Where nothing was heard, up to now or to the expected return. */
  readonly absence?: Stretch;
  readonly back?: Stretch & { readonly past: boolean };
  readonly shutDownY?: number;
  readonly nowX: number;
  /** Where free paper begins, for a note. */
  readonly noteX: number;
}

const absentStates: readonly NodeState[] = [
  'dark-as-designed',
  'overdue',
  'silent-unexplained',
  'link-down',
];

/** x of an instant, unclamped. */
export const axisX = (atMs: number, axis: FleetAxis): number =>
  ((atMs - axis.fromMs) / (axis.toMs - axis.fromMs)) * STRIP_WIDTH;

const chargeY = (percent: number): number => BASE_Y - (percent / 100) * (BASE_Y - TOP_Y);

function stretch(span: TimeSpan, axis: FleetAxis): Stretch | undefined {
  const x = Math.max(0, axisX(span.fromMs, axis));
  const end = Math.min(STRIP_WIDTH, span.toMs === undefined ? STRIP_WIDTH : axisX(span.toMs, axis));
  return end > x ? { x, width: end - x } : undefined;
}

function weekPoints({ week }: FleetRowJson, axis: FleetAxis): (Point | undefined)[] {
  const startMs = instantMs(week.start);
  const stepMs = week.stepS * SECOND_MS;
  return week.percent.map((percent, i) =>
    // The mean of an hour stands in the middle of it.
    percent === null ? undefined : [axisX(startMs + (i + 0.5) * stepMs, axis), chargeY(percent)],
  );
}

function fanPaths({ fan }: FleetRowJson, axis: FleetAxis) {
  if (fan === null) return { fanBand: '', fanMedian: '' };
  const startMs = instantMs(fan.start);
  const band: BandPoint[] = [];
  const median: Point[] = [];
  for (const [i, p50] of fan.p50.entries()) {
    const x = axisX(startMs + i * fan.stepS * SECOND_MS, axis);
    if (x > STRIP_WIDTH) break;
    band.push([x, chargeY(fan.p10[i] ?? p50), chargeY(fan.p90[i] ?? p50)]);
    median.push([x, chargeY(p50)]);
  }
  return { fanBand: bandPath(band), fanMedian: linePath(median) };
}

/** A bar is never thinner than this, so that a certain hour can still be seen. */
const LEAST_BAR_MS = 6 * HOUR_MS;

function stopBar(row: FleetRowJson, axis: FleetAxis, nowMs: number) {
  const span = stopSpan(row.site.outlook);
  if (span === undefined) return undefined;
  const fromMs = Math.max(span.fromMs, nowMs);
  const toMs = span.toMs === undefined ? undefined : Math.max(span.toMs, fromMs + LEAST_BAR_MS);
  const bar = stretch(toMs === undefined ? { fromMs } : { fromMs, toMs }, axis);
  return bar && { ...bar, openEnded: toMs === undefined || toMs > axis.toMs };
}

function absenceAndReturn(row: FleetRowJson, axis: FleetAxis, nowMs: number) {
  if (!absentStates.includes(row.site.state)) return {};
  const span = backSpan(row.site.outlook);
  const sinceMs = instantMsOr(row.site.lastHeardAt, axis.fromMs);
  const untilMs = Math.max(nowMs, span?.fromMs ?? nowMs);
  const absence = stretch({ fromMs: sinceMs, toMs: untilMs }, axis);
  const back = span && stretch(span, axis);
  const past = span?.toMs !== undefined && span.toMs < nowMs;
  return {
    ...(absence === undefined ? {} : { absence }),
    ...(back === undefined ? {} : { back: { ...back, past } }),
  };
}

const nightsPath = (nights: readonly Stretch[]): string =>
  nights
    .map(
      ({ x, width }) =>
        `M${x.toFixed(1)} 0h${width.toFixed(1)}V${STRIP_HEIGHT}h${(-width).toFixed(1)}z`,
    )
    .join('');

/** Everything a strip draws, as numbers and paths. */
export function stripGeometry(row: FleetRowJson, axis: FleetAxis, nowMs: number): StripGeometry {
  const past = weekPoints(row, axis);
  const nowX = axisX(nowMs, axis);
  const nights = row.nights.flatMap(([from, to]) => {
    const night = stretch({ fromMs: instantMs(from), toMs: instantMs(to) }, axis);
    return night === undefined ? [] : [night];
  });
  const stops = stopBar(row, axis, nowMs);
  const away = absenceAndReturn(row, axis, nowMs);
  const { shutDownRatio } = row.site;
  const ends = [stops, away.back, away.absence].map((part) => (part ? part.x + part.width : 0));
  return {
    pastNights: nightsPath(nights.filter((night) => night.x <= nowX)),
    nightsAhead: nightsPath(nights.filter((night) => night.x > nowX)),
    pastLine: linePath(past),
    pastArea: areaPath(past, BASE_Y),
    ...(away.absence === undefined ? fanPaths(row, axis) : { fanBand: '', fanMedian: '' }),
    ...(stops === undefined ? {} : { stops }),
    ...away,
    ...(shutDownRatio === null ? {} : { shutDownY: chargeY(shutDownRatio * 100) }),
    nowX,
    noteX: Math.max(nowX, ...ends) + 8,
  };
}
