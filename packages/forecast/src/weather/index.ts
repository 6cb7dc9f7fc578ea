/** The ways of making up weather. A new one is a file beside these and a line here. */
export { blockResample, type BlockPool } from './block-resample.ts';
export type { WeatherDraw, WeatherSource } from './weather-source.ts';
