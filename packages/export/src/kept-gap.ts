const LEAST_GAPS = 3;
/** So many gaps back: a silence among them is one, and a node that was set to another gap is followed within three readings. */
const REMEMBERED = 5;

/**
 * The gap at which readings were made, whatever the node is said to be set to.
 *
 * @param atMs when they were made, in order
 * @returns s; undefined with fewer than four of them
 */
export function medianGapS(atMs: readonly number[]): number | undefined {
  const gaps: number[] = [];
  for (let i = 1; i < atMs.length; i++) gaps.push((atMs[i] ?? 0) - (atMs[i - 1] ?? 0));
  if (gaps.length < LEAST_GAPS) return undefined;
  const median = gaps.sort((a, b) => a - b)[gaps.length >> 1] ?? 0;
  return median > 0 ? median / 1000 : undefined;
}

/** Follows readings as they come. */
export function keptGap(usualGapS: number): {
  readonly note: (atMs: number) => void;
  /** The median of the last five gaps, s; the usual one before three are known. */
  readonly gapS: () => number;
} {
  const lately: number[] = [];
  return {
    note(atMs) {
      lately.push(atMs);
      if (lately.length > REMEMBERED + 1) lately.shift();
    },
    gapS: () => medianGapS(lately) ?? usualGapS,
  };
}
