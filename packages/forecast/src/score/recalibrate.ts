import type { ProbabilityCase } from './brier.ts';

/** log-odds that are right as often as they say = offset + slope × log-odds that were given. */
export interface LogisticMap {
  readonly offset: number;
  readonly slope: number;
  /** How many outcomes it was learnt from. */
  readonly cases: number;
}

export const LEAST_CASES = 200;
export const LEAST_EVENTS = 20;
/** Keeps the map near "as given" while there is little to learn from: standard deviations of offset and slope about 0 and 1. */
const PRIOR_SIGMA = { offset: 1, slope: 0.5 } as const;
const STEPS = 50;

/**
 * Learns how the probabilities of a fleet have to be bent to be right as often as they say.
 *
 * @param cases  graded outlooks
 * @returns undefined with fewer than 200 cases, or fewer than 20 events or non-events among them: then nothing is bent
 * @source logistic recalibration: Cox 1958, Biometrika 45:562; ridge by Newton's method; thresholds: ours
 */
export function learnLogisticMap(cases: readonly ProbabilityCase[]): LogisticMap | undefined {
  const events = cases.filter((one) => one.happened).length;
  if (cases.length < LEAST_CASES || Math.min(events, cases.length - events) < LEAST_EVENTS)
    return undefined;
  let offset = 0;
  let slope = 1;
  for (let step = 0; step < STEPS; step++) {
    let gradOffset = -offset / PRIOR_SIGMA.offset ** 2;
    let gradSlope = (1 - slope) / PRIOR_SIGMA.slope ** 2;
    let curveOffset = 1 / PRIOR_SIGMA.offset ** 2;
    let curveSlope = 1 / PRIOR_SIGMA.slope ** 2;
    let curveBoth = 0;
    for (const { probability, happened } of cases) {
      const given = logOdds(probability);
      const bent = 1 / (1 + Math.exp(-(offset + slope * given)));
      const error = (happened ? 1 : 0) - bent;
      const weight = bent * (1 - bent);
      gradOffset += error;
      gradSlope += error * given;
      curveOffset += weight;
      curveSlope += weight * given * given;
      curveBoth += weight * given;
    }
    const determinant = curveOffset * curveSlope - curveBoth * curveBoth;
    const moveOffset = (curveSlope * gradOffset - curveBoth * gradSlope) / determinant;
    const moveSlope = (curveOffset * gradSlope - curveBoth * gradOffset) / determinant;
    offset += moveOffset;
    slope += moveSlope;
    if (Math.abs(moveOffset) + Math.abs(moveSlope) < 1e-10) break;
  }
  return { offset, slope, cases: cases.length };
}

/** The probability as it should have been given; the map must rise, or it is not used. */
export function recalibrated(probability: number, map: LogisticMap | undefined): number {
  if (map === undefined || map.slope <= 0) return probability;
  return 1 / (1 + Math.exp(-(map.offset + map.slope * logOdds(probability))));
}

function logOdds(probability: number): number {
  const inside = Math.min(1 - 1e-4, Math.max(1e-4, probability));
  return Math.log(inside / (1 - inside));
}

/**
 * Learns which levels of the ensemble really hold a wanted share: the level below which that share of the transforms fell.
 *
 * @param transforms  randomised PIT values of graded outlooks, 0 … 1
 * @returns for a wanted level, the level of the ensemble to read instead; as wanted with fewer than 200 transforms
 * @source ours: empirical distribution of the PIT (Gneiting, Balabdaoui & Raftery 2007, J. R. Stat. Soc. B 69:243), shrunk
 *         towards the diagonal as if 100 perfect outlooks had been seen
 */
export function levelsToRead(transforms: readonly number[]): (wanted: number) => number {
  if (transforms.length < LEAST_CASES) return (wanted) => wanted;
  const sorted = Float64Array.from(transforms).sort();
  const share = sorted.length / (sorted.length + PRIOR_OUTLOOKS);
  return (wanted) => {
    const place = Math.min(sorted.length - 1, Math.max(0, wanted * sorted.length - 0.5));
    const low = sorted[Math.floor(place)]!;
    const high = sorted[Math.min(sorted.length - 1, Math.floor(place) + 1)]!;
    const found = low + (high - low) * (place - Math.floor(place));
    return share * found + (1 - share) * wanted;
  };
}

const PRIOR_OUTLOOKS = 100;
