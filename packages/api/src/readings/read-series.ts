import {
  DAY_MS,
  HOUR_MS,
  metric,
  SECOND_MS,
  type FieldNode,
  type MetricKey,
  type QualityFlag,
} from '@duskline/domain';
import type { QualityCounts, ReadingPorts } from '../api-deps.ts';
import { binReadings, pointsOf } from './bin-readings.ts';
import { binRollups } from './bin-rollups.ts';
import type { ReadingPoint } from './reading-point.ts';
import {
  MOST_RAW_ROWS,
  readingSource,
  rollupGrain,
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
  /** Readings of the range that were not asked for. */
  readonly leftOut: QualityCounts;
}

/** Which readings are asked for. */
export interface QualityAsked {
  readonly flags: readonly QualityFlag[];
  /** Only those whose time cannot be trusted, whatever their flag: they are on no axis. */
  readonly unsureTimes: boolean;
}

/** Two readings may be missed without a hole in the line: radio does lose one now and then (our choice). */
const GAP_IN_USUAL_GAPS = 3;
/** Neighbouring steps are one step apart; half a step more is room for rounding. */
const GAP_IN_STEPS = 1.5;

/** The readings of one metric of one node, as many points as wanted at the most. */
export async function readSeries(
  ports: Pick<ReadingPorts, 'readings' | 'rollups'>,
  asked: {
    readonly node: FieldNode;
    readonly metric: MetricKey;
    readonly range: ReadingRange;
    readonly quality: QualityAsked;
  },
): Promise<ReadingSeries> {
  const { usualGapS } = asked.node.power;
  if (asked.quality.unsureTimes) return await readUnsure(ports, asked);
  const source = readingSource(asked.range, usualGapS);
  const readings = source === 'raw' ? await fromReadings(ports, asked) : undefined;
  const drawn = readings ?? (await fromRollups(ports, asked));
  const gapMs = Math.max(usualGapS * SECOND_MS * GAP_IN_USUAL_GAPS, drawn.stepMs * GAP_IN_STEPS);
  return { ...drawn, gapMs };
}

type Drawn = Omit<ReadingSeries, 'gapMs'>;
type Asked = Parameters<typeof readSeries>[1];

/** Each by itself, the first as many as were wanted. */
async function readUnsure(
  { readings }: Pick<ReadingPorts, 'readings'>,
  { node, metric: key, range }: Asked,
): Promise<ReadingSeries> {
  const { fromMs, toMs, points: limit } = range;
  const found = await readings.list(
    node.id,
    key,
    { fromMs, toMs, limit },
    { flags: everyFlag, unsureTimes: true },
  );
  return { source: 'raw', stepMs: 0, gapMs: 0, points: pointsOf(found), leftOut: NOTHING };
}

const everyFlag: readonly QualityFlag[] = [1, 2, 3, 4];
const NOTHING: QualityCounts = { pass: 0, suspect: 0, fail: 0 };
/** As rollups know it: what was not tested counts as passed. */
const qualityOf = (flag: QualityFlag): 1 | 3 | 4 => (flag === 3 || flag === 4 ? flag : 1);

/** Undefined: the node reads far more often than its usual gap says, so there are too many. */
async function fromReadings(
  { readings }: Pick<ReadingPorts, 'readings'>,
  { node, metric: key, range, quality }: Asked,
): Promise<Drawn | undefined> {
  const { fromMs, toMs, points } = range;
  const limit = 2 * MOST_RAW_ROWS;
  const all = await readings.list(
    node.id,
    key,
    { fromMs, toMs, limit },
    { flags: everyFlag, unsureTimes: false },
  );
  if (all.length >= limit) return undefined;
  const wanted = all.filter(({ flag }) => quality.flags.includes(flag));
  const others = all.filter(({ flag }) => !quality.flags.includes(flag));
  const count = (level: 1 | 3 | 4) => others.filter(({ flag }) => qualityOf(flag) === level).length;
  const leftOut = { pass: count(1), suspect: count(3), fail: count(4) };
  if (wanted.length <= points)
    return { source: 'raw', stepMs: 0, points: pointsOf(wanted), leftOut };
  const stepMs = stepMsFor(range, 0);
  const bins = binReadings(wanted, stepMs, metric(key).aggregate);
  return { source: 'raw', stepMs, points: bins, leftOut };
}

async function fromRollups(
  { rollups }: Pick<ReadingPorts, 'rollups'>,
  { node, metric: key, range, quality }: Asked,
): Promise<Drawn> {
  const { aggregate } = metric(key);
  const { toMs } = range;
  const grain = rollupGrain(range);
  const hours = grain === 'hour';
  const grainMs = hours ? HOUR_MS : DAY_MS;
  // The hour that `from` lies in is shown as well; a day would reach too far back.
  const fromMs = hours ? Math.floor(range.fromMs / HOUR_MS) * HOUR_MS : range.fromMs;
  const levels = [...new Set(quality.flags.map(qualityOf))];
  const [parts, counts] = await Promise.all([
    rollups.series(node.id, key, { fromMs, toMs, grain, quality: levels }),
    rollups.counts(node.id, key, { fromMs, toMs, grain }),
  ]);
  const stepMs = stepMsFor(range, grainMs);
  const leftOut = {
    pass: levels.includes(1) ? 0 : counts.pass,
    suspect: levels.includes(3) ? 0 : counts.suspect,
    fail: levels.includes(4) ? 0 : counts.fail,
  };
  return { source: grain, stepMs, points: binRollups(parts, stepMs, aggregate), leftOut };
}
