const BUCKETS = 256;

/**
 * The values at the given places of the ascending order, without sorting all: for the fan, which wants three of five hundred
 * charges fifty-seven times. Counts the values into even buckets and looks only into the bucket that holds the wanted one.
 *
 * @param values  0–1, no NaN; left as they are
 * @param ranks   each 0 … length − 1
 * @returns one value per rank
 * @source ours: one pass of a bucket sort, then Hoare's Find (1961, Comm. ACM 4:321); exact whatever the distribution
 */
export function selectRanks(values: Float32Array, ranks: readonly number[]): number[] {
  const counts = new Uint32Array(BUCKETS);
  for (let i = 0; i < values.length; i++) counts[bucketOf(values[i]!)]!++;
  const inside = new Float32Array(values.length);
  return ranks.map((rank) => {
    let bucket = 0;
    let before = 0;
    while (before + counts[bucket]! <= rank) before += counts[bucket++]!;
    const count = counts[bucket]!;
    let filled = 0;
    for (let i = 0; filled < count; i++) {
      inside[filled] = values[i]!;
      filled += bucketOf(values[i]!) === bucket ? 1 : 0;
    }
    return valueAtRank(inside, count, rank - before);
  });
}

const bucketOf = (value: number): number => Math.min(BUCKETS - 1, Math.trunc(value * BUCKETS));

/** Divides the first `count` values about a pivot, and goes on in the part that holds the rank. */
function valueAtRank(values: Float32Array, count: number, rank: number): number {
  let low = 0;
  let high = count - 1;
  while (low < high) {
    const pivot = values[rank]!;
    let left = low;
    let right = high;
    while (left <= right) {
      while (values[left]! < pivot) left++;
      while (pivot < values[right]!) right--;
      if (left > right) break;
      const kept = values[left]!;
      values[left++] = values[right]!;
      values[right--] = kept;
    }
    if (right < rank) low = left;
    if (rank < left) high = right;
  }
  return values[rank]!;
}
