/** How right outlooks were: pure scores, the plain rules to beat, and what to bend when enough is known. */
export {
  balanceDaysToEmpty,
  type BaselineFacts,
  monthlyBaseRate,
  noSunDaysToEmpty,
} from './baselines.ts';
export { blockBootstrap, type Interval } from './block-bootstrap.ts';
export {
  brierScore,
  type MurphyParts,
  murphyParts,
  type ProbabilityCase,
  RELIABILITY_BINS,
  type ReliabilityBin,
  reliabilityBins,
} from './brier.ts';
export { type ConcordantPairs, countPair, harrellC, type RankedCase } from './concordance.ts';
export { isCovered } from './cover.ts';
export { crpsWithinHorizon } from './crps.ts';
export { pinballLoss } from './pinball.ts';
export { randomisedPit } from './pit.ts';
export {
  learnLogisticMap,
  LEAST_CASES,
  LEAST_EVENTS,
  levelsToRead,
  type LogisticMap,
  recalibrated,
} from './recalibrate.ts';
