const BUCKETS = 256;

/**
 * The values at the given places of the ascending order, without sorting all: for the fan, which wants three of five hundred
 * charges fifty-seven times. Counts the values into even buckets and sorts only the bucket that holds the wanted one.
 *
 * @param values  0–1, no NaN; left as they are
 * @param ranks   each 0 … length − 1
 * @returns one value per rank
 * @source ours: one pass of a bucket sort, exact whatever the distribution
 */
export function selectRanks(values: Float32Array, ranks: readonly number[]): number[] {
  const counts = new Uint32Array(BUCKETS);
  for (let i = 0; i < values.length; i++) counts[bucketOf(values[i]!)]!++;
  return ranks.map((rank) => {
    let bucket = 0;
    let before = 0;
    while (before + counts[bucket]! <= rank) before += counts[bucket++]!;
    const inside = new Float32Array(counts[bucket]!);
    let filled = 0;
    for (let i = 0; filled < inside.length; i++)
      if (bucketOf(values[i]!) === bucket) inside[filled++] = values[i]!;
    return inside.sort()[rank - before]!;
  });
}

const bucketOf = (value: number): number => Math.min(BUCKETS - 1, Math.trunc(value * BUCKETS));
