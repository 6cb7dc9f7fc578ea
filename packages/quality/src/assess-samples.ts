import type { MetricKey, QualityTest } from '@duskline/domain';
import { Assessment, type AssessedSample, type QualitySample } from './assessed-sample.ts';
import { checkAgainstOthers } from './check-against-others.ts';
import { exemptionOf } from './exemptions.ts';
import type { LimitsInForce } from './limits-in-force.ts';
import type { LimitEra, LimitsOverTime } from './limits-over-time.ts';
import type { SeriesPoint, TestResult } from './series.ts';
import { maxGapS, type Surroundings } from './surroundings.ts';
import { brighterThanClearSkyTest } from './tests/brighter-than-clear-sky.ts';
import { chargeJumpTest } from './tests/charge-jump.ts';
import { flatLineTest } from './tests/flat-line.ts';
import { grossRangeTest } from './tests/gross-range.ts';
import { impossibleDateTest } from './tests/impossible-date.ts';
import { rateOfChangeTest } from './tests/rate-of-change.ts';
import { spikeTest } from './tests/spike.ts';

const EVERYTHING = { fromMs: -Infinity, toMs: Infinity };

/** The readings of one metric over all samples of trusted time, and where each of them stands. */
interface MetricSeries {
  readonly points: SeriesPoint[];
  readonly owners: { readonly assessment: Assessment; readonly place: number }[];
}

/**
 * Tests the readings of one node.
 *
 * Whatever may bear on a reading must be among the samples: `limits.reachS` before it and one gap (`maxGapS`) on either side.
 * Readings of unsure time are suspect for that and are no neighbours of others. Each reading is judged by the limits of its
 * own time, also where a test looks back to readings of another. The same samples give the same flags in whatever order
 * they came.
 *
 * @param samples by observed time, then layout
 * @param span    what lies outside is only looked at for the sake of what lies inside, and comes back untested
 */
export function assessSamples(
  samples: readonly QualitySample[],
  limits: LimitsOverTime,
  surroundings: Surroundings,
  span: Span = EVERYTHING,
): readonly AssessedSample[] {
  const assessments = samples.map((sample) => new Assessment(sample));
  const series = seriesOf(assessments);
  for (const assessment of assessments) {
    if (!isInside(assessment, span)) continue;
    const ofItsTime = limits.at(assessment.sample.observedAtMs);
    testAlone(assessment, ofItsTime);
    if (assessment.sample.timeQuality !== 'unsure')
      checkAgainstOthers(assessment, ofItsTime.cross, surroundings);
  }
  const wind = new Map(
    series.get('wind_speed')?.points.map(({ atMs, value }) => [atMs, value ?? undefined]),
  );
  const windAt = (atMs: number) => wind.get(atMs);
  for (const era of erasWithin(limits, span))
    for (const [key, { points, owners }] of series) {
      const keep = (test: QualityTest, results: readonly TestResult[]): void =>
        results.forEach((result, i) => {
          const owner = owners[i];
          if (owner !== undefined && isInside(owner.assessment, era))
            owner.assessment.add(owner.place, test, result);
        });
      testSeries(key, points, { limits: era.limits, surroundings, windAt, keep });
    }
  return assessments;
}

interface Span {
  readonly fromMs: number;
  readonly toMs: number;
}

const isInside = ({ sample: { observedAtMs } }: Assessment, { fromMs, toMs }: Span): boolean =>
  observedAtMs >= fromMs && observedAtMs < toMs;

/** The eras that touch a span, cut to it: a series is tested whole by the limits of each, and the era keeps its own results. */
const erasWithin = ({ eras }: LimitsOverTime, span: Span): readonly LimitEra[] =>
  eras
    .map((era) => ({
      ...era,
      fromMs: Math.max(era.fromMs, span.fromMs),
      toMs: Math.min(era.toMs, span.toMs),
    }))
    .filter(({ fromMs, toMs }) => fromMs < toMs);

function seriesOf(assessments: readonly Assessment[]): Map<MetricKey, MetricSeries> {
  const series = new Map<MetricKey, MetricSeries>();
  for (const assessment of assessments) {
    const { metrics, values, observedAtMs, timeQuality } = assessment.sample;
    if (timeQuality === 'unsure') continue;
    metrics.forEach((key, place) => {
      const one = series.get(key) ?? { points: [], owners: [] };
      series.set(key, one);
      one.points.push({ atMs: observedAtMs, value: values[place] ?? null });
      one.owners.push({ assessment, place });
    });
  }
  return series;
}

/** The tests that need nothing but the reading itself. */
function testAlone(assessment: Assessment, limits: LimitsInForce): void {
  const { metrics, values, observedAtMs, receivedAtMs, timeQuality } = assessment.sample;
  const date = impossibleDateTest(observedAtMs, receivedAtMs);
  metrics.forEach((key, place) => {
    if (date.flag !== 1) assessment.add(place, 'impossible-date', date);
    if (timeQuality === 'unsure') assessment.add(place, 'unsure-time', { flag: 3 });
    assessment.add(place, 'gross-range', grossRangeTest(values[place] ?? null, limits.of(key)));
  });
}

interface SeriesTesting {
  readonly limits: LimitsInForce;
  readonly surroundings: Surroundings;
  readonly windAt: (atMs: number) => number | undefined;
  readonly keep: (test: QualityTest, results: readonly TestResult[]) => void;
}

function testSeries(
  key: MetricKey,
  points: readonly SeriesPoint[],
  { limits, surroundings, windAt, keep }: SeriesTesting,
): void {
  const { spike, rate, flatLine } = limits.of(key);
  const { cross } = limits;
  const gapS = maxGapS(surroundings);
  if (spike !== undefined) keep('spike', spikeTest(points, { ...spike, maxGapS: gapS }));
  if (rate !== undefined)
    keep('rate-of-change', rateOfChangeTest(points, { ...rate, maxGapS: gapS }));
  if (flatLine !== undefined) {
    const exempt = exemptionOf(key, points, { windAt, surroundings });
    const window = { ...flatLine, stepS: surroundings.usualGapS, maxGapS: gapS };
    keep('flat-line', flatLineTest(points, window, exempt));
  }
  if (key === 'charge')
    keep(
      'charge-jump',
      chargeJumpTest(points, { pct: cross.chargeJumpPct, withinS: cross.chargeJumpS }),
    );
  if (key === 'irradiance')
    keep(
      'brighter-than-clear-sky',
      brighterThanClearSkyTest(points, surroundings.clearSkyWPerM2, {
        ratio: cross.clearSkyRatio,
        longerThanS: cross.clearSkyS,
        leastWPerM2: cross.clearSkyLeastWPerM2,
        maxGapS: gapS,
      }),
    );
}
