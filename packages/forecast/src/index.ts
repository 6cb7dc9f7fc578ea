export { estimateCharge } from './estimate-charge.ts';
export { estimatePastCharges, withPastCharges } from './estimate-past-charges.ts';
export type { ForecastInputs } from './forecast-inputs.ts';
export { forecastNode, type ForecastPaths, forecastPaths } from './forecast-node.ts';
export { type AdvanceInputs, advanceLearnt } from './learn/advance-learnt.ts';
export { explainLearnt, type LearntLine } from './learn/explain-learnt.ts';
export { type SeasonMonth, type SeasonOutlook, seasonOutlook } from './season/season-outlook.ts';
export { fromStored, type StoredInputs, storedInputs } from './stored-inputs.ts';
export type { TooLittleData } from './prepare-walk.ts';
export type { Change } from './what-helps/change.ts';
export { type WhatIf, whatIf } from './what-helps/what-if.ts';
export { type Help, whatWouldHelp } from './what-helps/what-would-help.ts';
export { freshLearnt, resetLearnt } from './learn/fresh-learnt.ts';
export {
  LEARNT_VERSION,
  type Learnt,
  type LearntBattery,
  type LearntDay,
  type LearntLoad,
  type LearntPanel,
  type LearntPart,
  learntParts,
  type LearntSite,
  type LearntWeather,
  type LoadStep,
  type PanelWarning,
  type ShadeBin,
  type Sureness,
} from './learn/learnt-site.ts';
export { seededRandom, type SeededRandom } from './seeded-random.ts';
export {
  type ClearnessChain,
  clearnessChain,
  type ClearnessYield,
  clearnessYield,
  type OutsideFacts,
  type OutsideForecast,
  type OutsideMember,
} from './weather/index.ts';
export * from './score/index.ts';
export * from './grade/index.ts';
export * from './sizing/index.ts';
export * from './log/index.ts';
