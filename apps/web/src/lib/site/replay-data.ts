import type { ReadingsJson, SitePageJson, SiteStoryJson } from '@duskline/contract';
import { DAY_MS, SECOND_MS } from '@duskline/domain';
import { apiClient } from '../api-client.ts';
import { instantMs, instantMsOr } from '../format/time.ts';

/** What each lane is drawn from: the first of these the node has. */
const lanes = {
  charge: ['charge', 'batt_v'],
  harvest: ['panel_w'],
  load: ['load_w'],
  weather: ['irradiance', 'sun', 'air_temp', 'wind', 'rain'],
} as const;
export type LaneName = keyof typeof lanes;

export interface ReplayLine {
  readonly metric: string;
  readonly label: string;
  readonly unit: string;
  readonly gapMs: number;
  readonly points: readonly { readonly atMs: number; readonly value: number }[];
}

/** A stretch of time with all that was going on in it. */
export interface Replay {
  readonly fromMs: number;
  readonly toMs: number;
  readonly lines: Readonly<Partial<Record<LaneName, ReplayLine>>>;
  readonly story: SiteStoryJson;
}

const POINTS = 500;
export const LONGEST_REPLAY_MS = 366 * DAY_MS;

const lineOf = (readings: ReadingsJson): ReplayLine => ({
  metric: readings.metric,
  label: readings.label,
  unit: readings.unit,
  gapMs: readings.gapS * SECOND_MS,
  points: readings.points.map((point) => ({
    atMs: instantMs(point.at) + (readings.stepS * SECOND_MS) / 2,
    value: point.mean,
  })),
});

/** Asks for everything at once. @throws ApiProblem */
export async function readReplay(
  siteId: string,
  metrics: readonly string[],
  { fromMs, toMs }: { readonly fromMs: number; readonly toMs: number },
): Promise<Replay> {
  const api = apiClient();
  const range = {
    from: new Date(fromMs).toISOString(),
    to: new Date(toMs).toISOString(),
    points: POINTS,
  };
  const wanted = (Object.keys(lanes) as LaneName[]).flatMap((lane) => {
    const metric = lanes[lane].find((key) => metrics.includes(key));
    return metric === undefined ? [] : [[lane, metric] as const];
  });
  const [story, ...lines] = await Promise.all([
    api.siteStory(siteId, fromMs, toMs),
    ...wanted.map(async ([lane, metric]) => {
      const readings = await api.readings(siteId, { metric, ...range });
      return [lane, lineOf(readings)] as const;
    }),
  ]);
  return { fromMs, toMs, story, lines: Object.fromEntries(lines) };
}

/** The value at a moment, or undefined in a gap. */
export function valueOf(line: ReplayLine | undefined, atMs: number): number | undefined {
  if (line === undefined) return undefined;
  let best: ReplayLine['points'][number] | undefined;
  for (const point of line.points) {
    if (best === undefined || Math.abs(point.atMs - atMs) < Math.abs(best.atMs - atMs))
      best = point;
    if (point.atMs > atMs) break;
  }
  return best === undefined || Math.abs(best.atMs - atMs) > line.gapMs ? undefined : best.value;
}

/** The stretch of the node's life a moment lies in. */
export const intervalAt = (
  intervals: SitePageJson['intervals'],
  atMs: number,
): SitePageJson['intervals'][number] | undefined =>
  intervals.find(({ from, to }) => instantMs(from) <= atMs && atMs < instantMsOr(to, Infinity));

/** Alerts in rows so that none lies over another; the oldest on top. */
export function stacked<T extends { readonly openedAt: string; readonly endedAt: string | null }>(
  alerts: readonly T[],
): readonly (readonly T[])[] {
  const rows: T[][] = [];
  for (const alert of alerts) {
    const free = rows.find((row) => {
      const last = row.at(-1);
      return last !== undefined && instantMsOr(last.endedAt, Infinity) <= instantMs(alert.openedAt);
    });
    if (free === undefined) rows.push([alert]);
    else free.push(alert);
  }
  return rows;
}
