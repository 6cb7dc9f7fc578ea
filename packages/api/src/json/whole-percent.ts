import { finite } from './finite.ts';

/** @param ratio 0–1 @returns 0–100 */
export const wholePercent = (ratio: number): number => Math.round(finite(ratio, 'charge') * 100);
