import type { MetricKey } from './metric-catalogue.ts';

/**
 * Quality flags of readings.
 *
 * @source QARTOD manuals (IOOS) and ioos_qc `qartod.py`: 1 pass, 2 not evaluated, 3 suspect, 4 fail, 9 missing
 */
export const qualityFlags = {
  pass: 1,
  'not-evaluated': 2,
  suspect: 3,
  fail: 4,
  missing: 9,
} as const;
export type QualityWord = keyof typeof qualityFlags;
export type QualityFlag = (typeof qualityFlags)[QualityWord];
export const qualityWords = Object.keys(qualityFlags) as readonly QualityWord[];

export const qualityWordOf = (flag: QualityFlag): QualityWord =>
  qualityWords.find((word) => qualityFlags[word] === flag) ?? 'not-evaluated';

/** The lowest flag that means doubt: what carries it is left out of means and curves unless it is asked for. */
export const DOUBTFUL = qualityFlags.suspect;

/**
 * What a reading is tested for. The place of a test in this list is its bit in the store: new ones go to the end, none is
 * ever taken out.
 */
export const qualityTests = [
  'gap',
  'impossible-date',
  'gross-range',
  'spike',
  'rate-of-change',
  'flat-line',
  'neighbour',
  'unsure-time',
  'panel-power-at-night',
  'panel-voltage-at-night',
  'dew-point-above-air',
  'gust-below-mean',
  'brighter-than-clear-sky',
  'charge-jump',
  'current-without-light',
  'rain-in-dry-air',
] as const;
export type QualityTest = (typeof qualityTests)[number];

/** Which tests found fault with a reading, as one whole number: bit i is test i. */
export const testMask = (tests: Iterable<QualityTest>): number => {
  let mask = 0;
  for (const test of tests) mask |= 1 << qualityTests.indexOf(test);
  return mask;
};
export const testsOfMask = (mask: number): readonly QualityTest[] =>
  qualityTests.filter((_, bit) => (mask & (1 << bit)) !== 0);

/** Limits of the tests that look at one metric alone, in the unit of the catalogue. What is absent is not tested. */
export interface MetricLimits {
  /** Outside it a reading fails. */
  readonly failSpan?: readonly [low: number, high: number];
  /** Outside it, but inside `failSpan`, a reading is suspect. */
  readonly suspectSpan?: readonly [low: number, high: number];
  /** Distance from the middle of its two neighbours. */
  readonly spike?: { readonly suspect: number; readonly fail?: number };
  /** Change per second from the reading before; over less than `leastS` seconds it is taken over that long. */
  readonly rate?: {
    readonly suspectPerS: number;
    readonly failPerS?: number;
    readonly leastS?: number;
  };
  /** Less than `tolerance` of variation over so many seconds. */
  readonly flatLine?: {
    readonly tolerance: number;
    readonly suspectS: number;
    readonly failS?: number;
  };
  /** Distance from the median of the neighbouring nodes. */
  readonly neighbour?: { readonly suspect: number };
}

/** Limits of the tests that hold readings against each other or against the sun. */
export interface CrossLimits {
  /** Sun elevation below which it is night. */
  readonly nightBelowDeg: number;
  readonly panelWAtNight: number;
  readonly panelAAtNight: number;
  readonly panelVAtNight: number;
  readonly dewPointAboveAirC: number;
  readonly gustBelowMeanMs: number;
  /** Times the clear sky, for longer than `clearSkyS`; below `clearSkyLeastWPerM2` nothing is said. */
  readonly clearSkyRatio: number;
  readonly clearSkyS: number;
  readonly clearSkyLeastWPerM2: number;
  /** Points of charge within `chargeJumpS`. */
  readonly chargeJumpPct: number;
  readonly chargeJumpS: number;
  readonly currentA: number;
  readonly currentBelowWPerM2: number;
  readonly rainMm: number;
  readonly rainBelowRhPct: number;
}

/** Limits set by people for a site, a node or a part, over the defaults: only what differs. `null` switches a test off. */
export interface LimitOverrides {
  readonly metrics?: Readonly<
    Partial<Record<MetricKey, { readonly [K in keyof MetricLimits]?: MetricLimits[K] | null }>>
  >;
  readonly cross?: Partial<CrossLimits>;
}

/** Overrides, and which readings they hold for: those observed in [fromMs, toMs). An end that is absent is open. */
export interface TimedOverrides {
  readonly limits: LimitOverrides;
  readonly fromMs?: number;
  readonly toMs?: number;
}

/** A limit as it holds where nobody sets another: by default or of somebody's making; null: the test was switched off. */
export interface LimitBeneath<T> {
  readonly limit: T | null;
  readonly from: 'default' | 'site' | 'node';
  /** Where a default comes from, in words for people; null of what people set. */
  readonly source: string | null;
}

/** What holds beneath the limits of one site, node or part. What is absent is not tested. */
export interface LimitsBeneath {
  readonly metrics: Readonly<
    Partial<
      Record<
        MetricKey,
        { readonly [K in keyof MetricLimits]?: LimitBeneath<NonNullable<MetricLimits[K]>> }
      >
    >
  >;
  readonly cross: { readonly [K in keyof CrossLimits]: LimitBeneath<CrossLimits[K]> };
}
