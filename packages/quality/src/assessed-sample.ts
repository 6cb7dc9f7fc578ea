import {
  qualityTests,
  type MetricKey,
  type QualityFlag,
  type QualityTest,
  type Sample,
} from '@duskline/domain';
import { higherFlag } from './roll-up-flags.ts';
import type { TestResult } from './series.ts';

/** A stored sample, as the tests want it. */
export interface QualitySample extends Pick<
  Sample,
  'observedAtMs' | 'metrics' | 'values' | 'timeQuality'
> {
  readonly receivedAtMs: number;
  readonly layoutId: number;
}

/** Why a reading is doubted: which test, which limit, what was found. */
export interface QualityFinding {
  readonly metric: MetricKey;
  readonly test: QualityTest;
  readonly flag: 3 | 4;
  /** In the unit of the test: of the metric, or per second, or seconds. */
  readonly found?: number;
  readonly limit?: number;
}

/** What the tests say of one sample. `flags[i]` and `tests[i]` (a mask) belong to `values[i]`. */
export interface AssessedSample {
  readonly sample: QualitySample;
  readonly flags: readonly QualityFlag[];
  readonly tests: readonly number[];
  readonly findings: readonly QualityFinding[];
}

/** Gathers the results of one sample. */
export class Assessment implements AssessedSample {
  readonly sample: QualitySample;
  readonly flags: QualityFlag[];
  readonly tests: number[];
  readonly findings: QualityFinding[] = [];

  constructor(sample: QualitySample) {
    this.sample = sample;
    this.flags = sample.values.map(() => 2);
    this.tests = sample.values.map(() => 0);
  }

  add(place: number, test: QualityTest, result: TestResult): void {
    const { flag, found, limit } = result;
    const present = this.flags[place] ?? 2;
    if (flag !== present) this.flags[place] = higherFlag(present, flag);
    if (flag !== 3 && flag !== 4) return;
    this.tests[place] = (this.tests[place] ?? 0) | (1 << qualityTests.indexOf(test));
    const metric = this.sample.metrics[place];
    if (metric === undefined) return;
    this.findings.push({
      metric,
      test,
      flag,
      ...(found === undefined ? {} : { found }),
      ...(limit === undefined ? {} : { limit }),
    });
  }

  /** Where the metric stands in the sample, or undefined. */
  place(metric: MetricKey): number | undefined {
    const place = this.sample.metrics.indexOf(metric);
    return place < 0 ? undefined : place;
  }

  value(metric: MetricKey): number | undefined {
    return this.sample.values[this.sample.metrics.indexOf(metric)];
  }
}
