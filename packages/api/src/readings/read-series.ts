import {
  DAY_MS,
  HOUR_MS,
  metric,
  SECOND_MS,
  type FieldNode,
  type MetricKey,
} from '@duskline/domain';
import type { ReadingPorts } from '../api-deps.ts';
import { binReadings, pointsOf } from './bin-readings.ts';
import { binRollups } from './bin-rollups.ts';
import type { ReadingPoint } from './reading-point.ts';
import {
  MOST_RAW_ROWS,
  readingSource,
  stepMsFor,
  type ReadingRange,
  type ReadingSource,
} from './reading-source.ts';

export interface ReadingSeries {
  readonly source: ReadingSource;
  /** 0: single readings. */
  readonly stepMs: number;
  /** Points further apart than this have a gap between them. */
  readonly gapMs: number;
  /** Oldest first, not more than were asked for. */
  readonly points: readonly ReadingPoint[];
}

/** Two readings may be missed without a hole in the line: radio does lose one now and then (our choice). */
const GAP_IN_USUAL_GAPS = 3;
/** Neighbouring steps are one step apart; half a step more is room for rounding. */
const GAP_IN_STEPS = 1.5;

/** The readings of one metric of one node, as many points as wanted at the most. */
export async function readSeries(
  ports: Pick<ReadingPorts, 'samples' | 'rollups'>,
  asked: { readonly node: FieldNode; readonly metric: MetricKey; readonly range: ReadingRange },
): Promise<ReadingSeries> {
  const { usualGapS } = asked.node.power;
  const source = readingSource(asked.range, usualGapS);
  const readings = source === 'raw' ? await fromReadings(ports, asked) : undefined;
  const drawn = readings ?? (await fromRollups(ports, asked));
  const gapMs = Math.max(usualGapS * SECOND_MS * GAP_IN_USUAL_GAPS, drawn.stepMs * GAP_IN_STEPS);
  return { ...drawn, gapMs };
}

type Drawn = Omit<ReadingSeries, 'gapMs'>;
type Asked = Parameters<typeof readSeries>[1];

/** Undefined: the node reads far more often than its usual gap says, so there are too many. */
async function fromReadings(
  { samples }: Pick<ReadingPorts, 'samples'>,
  { node, metric: key, range }: Asked,
): Promise<Drawn | undefined> {
  const { fromMs, toMs, points } = range;
  const limit = 2 * MOST_RAW_ROWS;
  const readings = await samples.raw(node.id, key, { fromMs, toMs, limit });
  if (readings.length >= limit) return undefined;
  if (readings.length <= points) return { source: 'raw', stepMs: 0, points: pointsOf(readings) };
  const stepMs = stepMsFor(range, 0);
  return { source: 'raw', stepMs, points: binReadings(readings, stepMs, metric(key).aggregate) };
}

async function fromRollups(
  { rollups }: Pick<ReadingPorts, 'rollups'>,
  { node, metric: key, range }: Asked,
): Promise<Drawn> {
  const { aggregate } = metric(key);
  const { toMs } = range;
  const hours = Math.ceil((toMs - range.fromMs) / HOUR_MS) + 1 <= range.points;
  const grainMs = hours ? HOUR_MS : DAY_MS;
  // The hour that `from` lies in is shown as well; a day would reach too far back.
  const fromMs = hours ? Math.floor(range.fromMs / HOUR_MS) * HOUR_MS : range.fromMs;
  const grain = hours ? 'hour' : 'day';
  const parts = await rollups.series(node.id, key, { fromMs, toMs, grain });
  const stepMs = stepMsFor(range, grainMs);
  return { source: grain, stepMs, points: binRollups(parts, stepMs, aggregate) };
}
