import type { LoadProfile } from './learn/load-profile.ts';
import { LOAD_MEMORY } from './learn/load-profile.ts';
import type { SeededRandom } from './seeded-random.ts';
import type { PathDraw } from './walk.ts';
import type { WeatherSource } from './weather/index.ts';

/** What is not known exactly, and differs from path to path. */
export interface PathDoubt {
  readonly weather: WeatherSource;
  readonly load: LoadProfile;
  /** Charge at the start, with the standard deviations below and above it. */
  readonly start: { readonly ratio: number; readonly sigmaLow: number; readonly sigmaHigh: number };
  /** A node that is up has not reached this charge; one that is dark starts wherever it may. */
  readonly aboveRatio: number;
  /** Standard deviation of the logarithm of the panel against what was learnt of it; SCALE_SIGMA when left out. */
  readonly scaleSigma?: number;
  /** Standard deviation of the logarithm of the capacity; CAPACITY_SIGMA when left out. */
  readonly capacitySigma?: number;
}

/** Standard deviations of the logarithm: the panel against its past, the battery against its nameplate. Starting values. */
export const SCALE_SIGMA = 0.05;
export const CAPACITY_SIGMA = 0.1;

export function newPathDraw(days: number): PathDraw {
  return {
    ratio: new Float64Array(days),
    poolDay: new Int32Array(days),
    loadFactor: new Float64Array(days),
    scale: 1,
    capacityFactor: 1,
    startRatio: 0,
  };
}

/**
 * Draws one possible future: weather, and everything about the node that is only known within limits.
 *
 * Without the doubt about the node itself a bootstrap of sixty days is too narrow: its 80 % range holds 72–75 % on real weather.
 * How many numbers are drawn does not depend on battery, panel or load, so that designs can be compared path by path.
 */
export function drawPath(doubt: PathDoubt, random: SeededRandom, draw: PathDraw): void {
  draw.scale = Math.exp((doubt.scaleSigma ?? SCALE_SIGMA) * random.normal());
  draw.capacityFactor = Math.exp((doubt.capacitySigma ?? CAPACITY_SIGMA) * random.normal());
  draw.startRatio = drawStart(doubt, random.normal());
  drawLoad(doubt.load, random, draw.loadFactor);
  doubt.weather.draw(random, draw);
}

/** A draw below a level that the node has not reached is mirrored about the estimate. */
function drawStart({ start, aboveRatio }: PathDoubt, deviate: number): number {
  const drawn = start.ratio + deviate * (deviate < 0 ? start.sigmaLow : start.sigmaHigh);
  const isImpossible = drawn <= aboveRatio && start.ratio > aboveRatio;
  const ratio = isImpossible ? 2 * start.ratio - drawn : drawn;
  return Math.min(1, Math.max(0, ratio));
}

/** Logarithm of each day's load as an AR(1) about a level that is itself uncertain, carried on from the newest day read. */
function drawLoad(load: LoadProfile, random: SeededRandom, factor: Float64Array): void {
  const { daySigma, levelSigma, lastResidual, lastDay } = load;
  const level = levelSigma * random.normal();
  const innovation = Math.sqrt(1 - LOAD_MEMORY * LOAD_MEMORY) * daySigma;
  const kept = LOAD_MEMORY ** Math.max(0, -lastDay);
  let residual = kept * lastResidual + Math.sqrt(1 - kept * kept) * daySigma * random.normal();
  for (let day = 0; day < factor.length; day++) {
    if (day > 0) residual = LOAD_MEMORY * residual + innovation * random.normal();
    factor[day] = Math.exp(level + residual - (daySigma * daySigma) / 2);
  }
}
