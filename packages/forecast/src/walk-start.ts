import { type ChargeEstimate, DAY_MS, HOUR_MS } from '@duskline/domain';
import type { ForecastInputs } from './forecast-inputs.ts';

/** A charge older than this tells nothing of a node that should be up. */
export const OLDEST_CHARGE_DAYS = 14;
/** A silence is followed back no further; the walk starts here instead. */
const LONGEST_DARK_DAYS = 120;
/** 10 % and 90 % ends of a normal band, in standard deviations from its middle. */
const BAND_SIGMAS = 1.2816;
/** How exactly the charge at the moment of stopping is known. Assumption, no source. */
const STOP_SIGMA = 0.02;

/** Where all paths start: when, and at what charge, with the standard deviations below and above it. */
export interface WalkStart {
  readonly startMs: number;
  readonly ratio: number;
  readonly sigmaLow: number;
  readonly sigmaHigh: number;
}

/**
 * The start of the walk: when the node went dark, or when its charge was last known; a whole number of hours before now.
 *
 * @returns undefined when a node that is not dark has told no charge in the last 14 days
 */
export function walkStart({ nowMs, charge, dark }: ForecastInputs): WalkStart | undefined {
  const hoursBack = (sinceMs: number): number =>
    nowMs - Math.max(0, Math.round((nowMs - sinceMs) / HOUR_MS)) * HOUR_MS;
  if (dark !== undefined) {
    const earliestMs = nowMs - LONGEST_DARK_DAYS * DAY_MS;
    const startMs = hoursBack(Math.max(dark.sinceMs, earliestMs));
    return { startMs, ratio: dark.chargeRatio, sigmaLow: STOP_SIGMA, sigmaHigh: STOP_SIGMA };
  }
  if (charge === undefined || charge.observedAtMs < nowMs - OLDEST_CHARGE_DAYS * DAY_MS)
    return undefined;
  return { startMs: hoursBack(charge.observedAtMs), ratio: charge.ratio, ...sigmasOf(charge) };
}

function sigmasOf({ ratio, lowRatio, highRatio }: ChargeEstimate) {
  return {
    sigmaLow: Math.max(0, ratio - lowRatio) / BAND_SIGMAS,
    sigmaHigh: Math.max(0, highRatio - ratio) / BAND_SIGMAS,
  };
}
