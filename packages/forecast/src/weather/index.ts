/** The ways of making up weather. A new one is a file beside these and a line here. */
export { blockResample, type BlockPool } from './block-resample.ts';
export { type ClearnessChain, clearnessChain } from './clearness-chain.ts';
export { type ClearnessYield, clearnessYield } from './clearness-yield.ts';
export type { WeatherDraw, WeatherSource } from './weather-source.ts';
