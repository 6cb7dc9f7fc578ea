import type { CauseKey, Diagnosis, RankedCause } from '@duskline/domain';

/**
 * One piece of evidence: the natural logarithm of how many times likelier it is seen when the cause is at work than when it
 * is not. 2.3 = ten times; negative = it speaks against.
 */
export interface Evidence {
  readonly weight: number;
  /** One sentence with its figures, without a full stop. */
  readonly says: string;
}

/** A possible cause, and how it is weighed against what was seen. One file in silence/ or power/, one line in its index. */
export interface Cause<Seen> {
  readonly cause: CauseKey;
  readonly name: string;
  /** How common it is before anything was seen, relative to the others of its question (ours, to be learnt). */
  readonly commonness: number;
  /** Undefined where the cause cannot be judged at all, e.g. without a panel reading. */
  readonly weigh: (seen: Seen) => readonly Evidence[] | undefined;
  readonly settledBy: string | ((seen: Seen) => string);
  readonly settledAtMs?: (seen: Seen) => number | undefined;
}

/**
 * Ranks causes by their posterior probability: commonness times the product of the likelihood ratios, made to add up to 1.
 * Evidence is taken for independent, which overstates certainty a little; a cause is therefore never given more than 0.98.
 *
 * @source weight of evidence after Good, I. J., Probability and the Weighing of Evidence (1950), ch. 6
 */
export function weighCauses<Seen>(
  question: Diagnosis['question'],
  causes: readonly Cause<Seen>[],
  seen: Seen & { readonly nowMs: number },
): Diagnosis {
  const weighed = causes.flatMap((cause) => {
    const evidence = cause.weigh(seen);
    if (evidence === undefined) return [];
    const score = evidence.reduce((sum, { weight }) => sum + weight, Math.log(cause.commonness));
    return [{ cause, evidence, score }];
  });
  const highest = Math.max(...weighed.map(({ score }) => score));
  const total = weighed.reduce((sum, { score }) => sum + Math.exp(score - highest), 0);
  const ranked = weighed.map(({ cause, evidence, score }): RankedCause => {
    const settledAtMs = cause.settledAtMs?.(seen);
    return {
      cause: cause.cause,
      name: cause.name,
      probability: Math.exp(score - highest) / total,
      ...split(evidence),
      settledBy: typeof cause.settledBy === 'string' ? cause.settledBy : cause.settledBy(seen),
      ...(settledAtMs === undefined ? {} : { settledAtMs }),
    };
  });
  return {
    question,
    madeAtMs: seen.nowMs,
    causes: humble(ranked.sort((a, b) => b.probability - a.probability)),
  };
}

export const MOST_CERTAIN = 0.98;

/** What is above the most that is ever claimed goes to the others in equal shares. */
function humble(ranked: readonly RankedCause[]): readonly RankedCause[] {
  const [first, ...others] = ranked;
  if (first === undefined || others.length === 0 || first.probability <= MOST_CERTAIN)
    return ranked;
  const spare = (first.probability - MOST_CERTAIN) / others.length;
  return [
    { ...first, probability: MOST_CERTAIN },
    ...others.map((cause) => ({ ...cause, probability: cause.probability + spare })),
  ];
}

function split(evidence: readonly Evidence[]) {
  const heaviestFirst = evidence
    .filter(({ weight, says }) => weight !== 0 && says !== '')
    .sort((a, b) => Math.abs(b.weight) - Math.abs(a.weight));
  return {
    evidenceFor: heaviestFirst.filter(({ weight }) => weight > 0).map(({ says }) => says),
    evidenceAgainst: heaviestFirst.filter(({ weight }) => weight < 0).map(({ says }) => says),
  };
}
