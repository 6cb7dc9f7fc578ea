import { ReadingsQuerySchema, ReadingsSchema } from '@duskline/contract';
import type { ReadingsJson, ReadingsQuery } from '@duskline/contract';
import {
  DAY_MS,
  metric,
  metricOf,
  qualityFlags,
  qualityWordOf,
  qualityWords,
  SECOND_MS,
  type MetricKey,
  type QualityWord,
} from '@duskline/domain';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { finite } from '../json/finite.ts';
import { instant } from '../json/instant.ts';
import { component } from '../openapi/component-schemas.ts';
import { readSeries, type ReadingSeries } from '../readings/read-series.ts';
import type { ReadingPoint } from '../readings/reading-point.ts';
import type { ReadingRange } from '../readings/reading-source.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import { findSite, nodeOf, SiteParamsSchema } from './find-site.ts';

const DEFAULT_POINTS = 800;
/** Longer than any node lives. */
const LONGEST_MS = 20 * 366 * DAY_MS;

export function readingsRoutes(app: Door, deps: ApiDeps): void {
  app.get(
    '/api/v1/sites/:siteId/readings',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'readings',
        tags: ['fleet'],
        summary: 'Readings of one metric, as many points as a chart can show',
        description:
          'Single readings where they are few enough, else steps with mean, least and greatest value. ' +
          'Where nothing was read there is no point. Of directions the mean is that of vectors. ' +
          'Doubted readings are left out and counted, and shown when they are asked for.',
        params: SiteParamsSchema,
        querystring: component(ReadingsQuerySchema),
        response: { 200: component(ReadingsSchema) },
      },
    },
    async (request) => {
      const range = rangeOf(request.query);
      const key = metricFrom(request.query.metric);
      const node = nodeOf(await findSite(deps.views, request.params.siteId));
      const { flags, times } = request.query;
      const words = wordsOf(flags);
      const quality = {
        flags: words.map((word) => qualityFlags[word]),
        unsureTimes: times === 'unsure',
      };
      const series = await readSeries(deps, { node, metric: key, range, quality });
      return readingsJson(key, series, words);
    },
  );
}

/** Not doubted. */
const DEFAULT_FLAGS: readonly QualityWord[] = ['pass', 'not-evaluated'];

const wordsOf = (text: string | undefined): readonly QualityWord[] =>
  text === undefined
    ? DEFAULT_FLAGS
    : qualityWords.filter((word) => text.split(',').includes(word));

function metricFrom(text: string): MetricKey {
  const key = metricOf(text);
  if (key === undefined)
    throw new ApiProblem(
      'metric-unknown',
      'There is no metric of this name. GET /api/v1/sites/{siteId} lists those the site has.',
      { errors: [{ pointer: '/metric', detail: 'is not in the catalogue' }] },
    );
  return key;
}

function rangeOf({ from, to, points = DEFAULT_POINTS }: ReadingsQuery): ReadingRange {
  const fromMs = Date.parse(from);
  const toMs = Date.parse(to);
  // The format lets a leap second through, which this clock cannot read.
  if (!Number.isFinite(fromMs)) throw badRange('/from', 'cannot be read as a time');
  if (!Number.isFinite(toMs)) throw badRange('/to', 'cannot be read as a time');
  if (toMs <= fromMs) throw badRange('/to', 'must be later than from');
  if (toMs - fromMs > LONGEST_MS) throw badRange('/from', 'is more than 20 years before to');
  return { fromMs, toMs, points };
}

const badRange = (pointer: string, detail: string): ApiProblem =>
  new ApiProblem('range-invalid', `In the address, ${pointer.slice(1)} ${detail}.`, {
    errors: [{ pointer, detail }],
  });

function readingsJson(
  key: MetricKey,
  series: ReadingSeries,
  flags: readonly QualityWord[],
): ReadingsJson {
  const { label, unit } = metric(key);
  return {
    metric: key,
    label,
    unit,
    source: series.source,
    stepS: series.stepMs / SECOND_MS,
    gapS: series.gapMs / SECOND_MS,
    points: series.points.map((point) => ({
      at: instant(point.atMs),
      mean: finite(point.mean, key),
      min: finite(point.min, key),
      max: finite(point.max, key),
      count: point.count,
      ...knownJson(point.known),
    })),
    flags: [...flags],
    leftOut: { ...series.leftOut },
  };
}

function knownJson(known: ReadingPoint['known']) {
  if (known === undefined) return {};
  const { flag, timeQuality, tests, receivedAtMs, saidTimeS } = known;
  return {
    flag: qualityWordOf(flag),
    timeQuality,
    failedTests: [...tests],
    receivedAt: instant(receivedAtMs),
    ...(saidTimeS === undefined ? {} : { saidTimeS }),
  };
}
