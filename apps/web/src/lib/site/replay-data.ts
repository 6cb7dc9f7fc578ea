import type { ReadingsJson, SiteStoryJson } from '@duskline/contract';
import { DAY_MS, SECOND_MS } from '@duskline/domain';
import { apiClient } from '../api-client.ts';
import { instantMs } from '../format/time.ts';
import type { ReplayLine } from './replay-lanes.ts';

/** What each lane is drawn from: the first of these the node has. */
const lanes = {
  charge: ['charge', 'batt_v'],
  harvest: ['panel_w'],
  load: ['load_w'],
  weather: ['irradiance', 'sun', 'air_temp', 'wind', 'rain'],
} as const;
export type LaneName = keyof typeof lanes;

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
