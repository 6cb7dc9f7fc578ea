export { estimateCharge } from './estimate-charge.ts';
export { estimatePastCharges, withPastCharges } from './estimate-past-charges.ts';
export type { ForecastInputs } from './forecast-inputs.ts';
export { forecastNode, type ForecastPaths, forecastPaths } from './forecast-node.ts';
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
} from './weather/index.ts';
export * from './score/index.ts';
export * from './grade/index.ts';
export type { OutsideForecast, OutsideMember } from './weather/outside-forecast.ts';
export * from './sizing/index.ts';
