/** The ways of making up weather. A new one is a file beside these and a line here. */
export { blockResample, type BlockPool } from './block-resample.ts';
export { type ClearnessChain, clearnessChain } from './clearness-chain.ts';
export { type ClearnessYield, clearnessYield } from './clearness-yield.ts';
export { clearnessByLatitude, type ClearnessFrom } from './climate-of.ts';
export type { OutsideFacts } from './outside-course.ts';
export type { OutsideForecast, OutsideMember } from './outside-forecast.ts';
export { type MadeWeather, makeWeather, type WeatherFacts } from './make-weather.ts';
export type { WeatherDraw, WeatherSoFar, WeatherSource } from './weather-source.ts';
