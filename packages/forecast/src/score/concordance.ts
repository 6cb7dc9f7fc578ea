/** A forecast time beside what came of it. */
export interface RankedCase {
  readonly forecast: number;
  /** When it came, or when the watch ended. */
  readonly observed: number;
  /** It had not come when the watch ended. */
  readonly isCensored: boolean;
}

/** Pairs of which one surely came first, and in how many of them the forecasts were in that order; ties count half. */
export interface ConcordantPairs {
  concordant: number;
  comparable: number;
}

/** Adds one pair. */
export function countPair(into: ConcordantPairs, a: RankedCase, b: RankedCase): void {
  const [early, late] = a.observed <= b.observed ? [a, b] : [b, a];
  if (early.isCensored || early.observed === late.observed) {
    const isSettled = early.observed === late.observed && early.isCensored !== late.isCensored;
    if (!isSettled) return;
    // At the same time one came and one had not come yet: the one that came was the earlier.
    const [came, not] = early.isCensored ? [late, early] : [early, late];
    add(into, came, not);
    return;
  }
  add(into, early, late);
}

function add(into: ConcordantPairs, early: RankedCase, late: RankedCase): void {
  into.comparable++;
  if (early.forecast < late.forecast) into.concordant++;
  else if (early.forecast === late.forecast) into.concordant += 0.5;
}

/**
 * Harrell's C: in which share of the pairs whose order is known the forecasts had the right order.
 *
 * @returns 0 … 1, ½ = no better than chance; undefined when no pair can be compared
 * @source Harrell, Califf, Pryor, Lee & Rosati 1982, JAMA 247:2543
 */
export function harrellC(cases: readonly RankedCase[]): number | undefined {
  const pairs: ConcordantPairs = { concordant: 0, comparable: 0 };
  for (let i = 0; i < cases.length; i++)
    for (let j = i + 1; j < cases.length; j++) countPair(pairs, cases[i]!, cases[j]!);
  return pairs.comparable === 0 ? undefined : pairs.concordant / pairs.comparable;
}
