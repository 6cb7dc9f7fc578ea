import { DAY_MS, HOUR_MS, qualityWordOf, SECOND_MS, type QualityFlag } from '@duskline/domain';
import type { ApiDeps, KnownReading } from '../api-deps.ts';
import { finite } from '../json/finite.ts';
import { instant } from '../json/instant.ts';
import type { StaEntity } from './sta-entity.ts';
import { beyondDoor } from './sta-refusal.ts';

/** Nothing older is taken in. */
const FIRST_MS = Date.parse('2020-01-01T00:00:00Z');
/** What is sorted by value, counted, or chosen by value is read whole: no more than this. */
const MOST_READ = 50_000;
const EVERY_FLAG: readonly QualityFlag[] = [1, 2, 3, 4];

interface StretchAsked {
  readonly fromMs: number;
  readonly toMs: number;
  readonly newestFirst: boolean;
  /** Undefined: all of the stretch. */
  readonly limit?: number;
}

/**
 * Observations of one Datastream in the order of time. Readings whose time cannot be trusted are on no axis and not among them.
 *
 * @throws ApiProblem 501 where all are wanted and they are more than 50,000
 */
export async function readObservations(
  { readings, now }: Pick<ApiDeps, 'readings' | 'now'>,
  stream: StaEntity,
  asked: StretchAsked,
): Promise<readonly StaEntity[]> {
  const { view, metric } = stream;
  if (view?.node === undefined || metric === undefined)
    throw new Error('readObservations: this is no Datastream');
  const { node } = view;
  const stretch = {
    fromMs: Math.max(asked.fromMs, FIRST_MS),
    toMs: Math.min(asked.toMs, now() + DAY_MS),
  };
  const list = (fromMs: number, toMs: number, limit: number) =>
    readings.list(
      node.id,
      metric,
      { fromMs, toMs, limit, newestFirst: asked.newestFirst },
      { flags: EVERY_FLAG, unsureTimes: false },
    );
  const { limit } = asked;
  if (limit === undefined) {
    const all = await list(stretch.fromMs, stretch.toMs, MOST_READ + 1);
    if (all.length > MOST_READ)
      throw beyondDoor(
        '$filter',
        `these are more than ${MOST_READ} observations: narrow phenomenonTime with ge and lt, or take an export`,
      );
    return all.map((reading) => observation(stream, reading));
  }
  const found: KnownReading[] = [];
  // From the near end in stretches that grow, so that a page of a hundred does not read a year.
  let widthMs = Math.max(HOUR_MS, limit * node.power.usualGapS * SECOND_MS * 2);
  let { fromMs, toMs } = stretch;
  while (found.length < limit && fromMs < toMs) {
    const [start, end] = asked.newestFirst
      ? [Math.max(fromMs, toMs - widthMs), toMs]
      : [fromMs, Math.min(toMs, fromMs + widthMs)];
    found.push(...(await list(start, end, limit - found.length)));
    if (asked.newestFirst) toMs = start;
    else fromMs = end;
    widthMs *= 4;
  }
  return found.map((reading) => observation(stream, reading));
}

/** The one of that id, `<node>:<metric>:<Unix ms>`. */
export async function findObservation(
  deps: Pick<ApiDeps, 'readings' | 'now'>,
  stream: StaEntity,
  id: string,
): Promise<StaEntity | undefined> {
  const [, , text = ''] = id.split(':');
  if (!/^\d{1,15}$/.test(text)) return undefined;
  const atMs = Number(text);
  const [found] = await readObservations(deps, stream, {
    fromMs: atMs,
    toMs: atMs + 1,
    newestFirst: false,
    limit: 1,
  });
  return found?.id === id ? found : undefined;
}

function observation(stream: StaEntity, reading: KnownReading): StaEntity {
  const at = instant(reading.atMs);
  return {
    ...stream,
    set: 'Observations',
    id: `${stream.id}:${reading.atMs}`,
    properties: {
      phenomenonTime: at,
      resultTime: at,
      result: finite(reading.value, stream.id),
      resultQuality: {
        flag: qualityWordOf(reading.flag),
        timeQuality: reading.timeQuality,
        failedTests: [...reading.tests],
      },
      parameters: { receivedAt: instant(reading.receivedAtMs) },
    },
  };
}
