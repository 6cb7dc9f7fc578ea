export { assessSamples } from './assess-samples.ts';
export type { AssessedSample, QualityFinding, QualitySample } from './assessed-sample.ts';
export {
  compareWithNeighbours,
  NEIGHBOUR_KM,
  type NeighbourFinding,
  type PlacedMean,
} from './compare-with-neighbours.ts';
export { defaultCrossLimits, defaultLimits } from './default-limits.ts';
export { limitsBeneath, type LimitLayer } from './limits-beneath.ts';
export { faultsOfOverrides, limitsInForce, type LimitsInForce } from './limits-in-force.ts';
export { limitsOverTime, type LimitEra, type LimitsOverTime } from './limits-over-time.ts';
export { qualityRules, type QualityRule } from './quality-rules.ts';
export { rollUpFlags } from './roll-up-flags.ts';
export type { SeriesPoint, TestResult } from './series.ts';
export { maxGapS, type Surroundings } from './surroundings.ts';
export { brighterThanClearSkyTest } from './tests/brighter-than-clear-sky.ts';
export { chargeJumpTest } from './tests/charge-jump.ts';
export { flatLineTest } from './tests/flat-line.ts';
export { gapTest } from './tests/gap.ts';
export { grossRangeTest } from './tests/gross-range.ts';
export { impossibleDateTest } from './tests/impossible-date.ts';
export { neighbourTest } from './tests/neighbour.ts';
export { rateOfChangeTest } from './tests/rate-of-change.ts';
export { spikeTest } from './tests/spike.ts';
