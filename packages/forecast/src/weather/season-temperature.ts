import { dayOfYear } from '@duskline/energy';
import { DAY_MS } from '@duskline/domain';
import type { YieldDay } from '../learn/yield-days.ts';

/** Half the distance between the warmest and the coldest weeks, by latitude; K. From memory, ±half of it. */
const LATITUDES = [0, 15, 30, 45, 60, 90] as const;
const AMPLITUDES = [1, 4, 8, 9, 10, 14] as const;
/** The warmest days, north of the equator: about 20 July. */
const WARMEST_DAY = 201;
/** Weather keeps for days: so many days in a row count as one. */
const DAYS_ALIKE = 5;
const LEAST_NOISE_K = 0.5;
/** The middle of the days that matter most ahead. */
const AHEAD_DAYS = 10;

/**
 * Carries the temperatures of past days over to the season ahead: each keeps what it differed from its own date's, and takes the
 * date's from about ten days ahead.
 *
 * The season's swing starts from the latitude and is corrected by the site's own days, so a battery in a heated hut stays at
 * its temperature.
 *
 * @param temperatureC  rows of 24 h, one per day
 * @returns a new table of the same shape
 * @source ours: one harmonic of the year, Bayesian linear regression of its amplitude
 */
export function temperatureOfSeason(
  temperatureC: Float32Array,
  days: readonly YieldDay[],
  at: { readonly startMs: number; readonly latitudeDeg: number },
): Float32Array {
  const phase = (day: number): number => {
    const date = dayOfYear(at.startMs + day * DAY_MS);
    const sign = at.latitudeDeg >= 0 ? 1 : -1;
    return sign * Math.cos((2 * Math.PI * (date - WARMEST_DAY)) / 365.25);
  };
  const phases = days.map(({ day }) => phase(day));
  const means = days.map((_, index) => meanOf(temperatureC.subarray(index * 24, index * 24 + 24)));
  const amplitude = amplitudeOf(phases, means, Math.abs(at.latitudeDeg));
  const ahead = phase(AHEAD_DAYS);
  return temperatureC.map((value, i) => value + amplitude * (ahead - phases[Math.floor(i / 24)]!));
}

function amplitudeOf(
  phases: readonly number[],
  means: readonly number[],
  latitudeDeg: number,
): number {
  const expected = expectedAmplitude(latitudeDeg);
  const meanPhase = meanOf(phases);
  const meanC = meanOf(means);
  let both = 0;
  let square = 0;
  for (let i = 0; i < phases.length; i++) {
    both += (phases[i]! - meanPhase) * (means[i]! - meanC);
    square += (phases[i]! - meanPhase) ** 2;
  }
  const slope = square > 0 ? both / square : expected;
  const missed = means.map((mean, i) => (mean - meanC - slope * (phases[i]! - meanPhase)) ** 2);
  const noise = Math.max(LEAST_NOISE_K ** 2, meanOf(missed)) * DAYS_ALIKE;
  const told = square / noise;
  const prior = 1 / (expected / 2) ** 2;
  return (told * slope + prior * expected) / (told + prior);
}

function expectedAmplitude(latitudeDeg: number): number {
  let next = 1;
  while (next < LATITUDES.length - 1 && LATITUDES[next]! < latitudeDeg) next++;
  const share = (latitudeDeg - LATITUDES[next - 1]!) / (LATITUDES[next]! - LATITUDES[next - 1]!);
  return AMPLITUDES[next - 1]! + share * (AMPLITUDES[next]! - AMPLITUDES[next - 1]!);
}

function meanOf(values: ArrayLike<number>): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i]!;
  return values.length === 0 ? 0 : sum / values.length;
}
