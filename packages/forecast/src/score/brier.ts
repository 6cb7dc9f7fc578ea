/** A probability that was given, and whether the event came. */
export interface ProbabilityCase {
  readonly probability: number;
  readonly happened: boolean;
}

/** Forecasts of about the same probability, beside how often the event came. */
export interface ReliabilityBin {
  readonly from: number;
  readonly to: number;
  readonly count: number;
  readonly meanProbability: number;
  readonly observedShare: number;
}

/** Brier score = reliability − resolution + uncertainty, and what the binning leaves over. */
export interface MurphyParts {
  readonly brier: number;
  readonly reliability: number;
  readonly resolution: number;
  readonly uncertainty: number;
  /** Spread within the bins; 0 when all forecasts of a bin are alike. */
  readonly withinBins: number;
}

export const RELIABILITY_BINS = 8;

/** Squared error of one probability. @source Brier 1950, Mon. Weather Rev. 78:1 */
export const brierScore = (probability: number, happened: boolean): number =>
  (probability - (happened ? 1 : 0)) ** 2;

/**
 * Sorts cases into bins of equal width: the reliability diagram.
 *
 * @returns ascending, empty bins left out
 */
export function reliabilityBins(
  cases: readonly ProbabilityCase[],
  bins: number = RELIABILITY_BINS,
): readonly ReliabilityBin[] {
  const sums = Array.from({ length: bins }, () => ({ count: 0, probability: 0, happened: 0 }));
  for (const { probability, happened } of cases) {
    const sum = sums[Math.min(bins - 1, Math.floor(probability * bins))]!;
    sum.count++;
    sum.probability += probability;
    if (happened) sum.happened++;
  }
  return sums.flatMap(({ count, probability, happened }, bin) =>
    count === 0
      ? []
      : [
          {
            from: bin / bins,
            to: (bin + 1) / bins,
            count,
            meanProbability: probability / count,
            observedShare: happened / count,
          },
        ],
  );
}

/**
 * The Brier score cut into what calibration costs, what telling cases apart earns, and what the event itself brings.
 *
 * @throws RangeError without cases (a caller's bug)
 * @source Murphy 1973, J. Appl. Meteorol. 12:595; the remainder within bins: Stephenson, Coelho & Jolliffe 2008,
 *         Weather Forecast. 23:752
 */
export function murphyParts(
  cases: readonly ProbabilityCase[],
  bins: number = RELIABILITY_BINS,
): MurphyParts {
  if (cases.length === 0) throw new RangeError('A score needs at least one case.');
  const count = cases.length;
  const base = cases.filter((one) => one.happened).length / count;
  const brier =
    cases.reduce((sum, one) => sum + brierScore(one.probability, one.happened), 0) / count;
  let reliability = 0;
  let resolution = 0;
  for (const bin of reliabilityBins(cases, bins)) {
    reliability += (bin.count / count) * (bin.meanProbability - bin.observedShare) ** 2;
    resolution += (bin.count / count) * (bin.observedShare - base) ** 2;
  }
  const uncertainty = base * (1 - base);
  return {
    brier,
    reliability,
    resolution,
    uncertainty,
    withinBins: brier - (reliability - resolution + uncertainty),
  };
}
