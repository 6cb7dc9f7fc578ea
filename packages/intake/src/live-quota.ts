import { SECOND_MS } from '@duskline/domain';

/** A node that was cut off for a while may say at once what it had to say meanwhile. */
const BURST_S = 10;
/** Nodes remembered before those that are back at rest are forgotten. */
const REMEMBERED = 10_000;

export interface LiveQuota {
  /** May the node have one more message in the live lane now? Counts it if so. */
  readonly admits: (node: string, nowMs: number) => boolean;
}

/**
 * A token bucket for each node: so many live messages a second, and ten seconds' worth at once. What is above it is not
 * refused; it goes by the backlog lane, where it delays nobody's fresh readings.
 *
 * @param perSecond messages a second and node; at least one
 */
export function createLiveQuota(perSecond: number): LiveQuota {
  const burst = Math.max(1, perSecond * BURST_S);
  const buckets = new Map<string, { tokens: number; atMs: number }>();
  const refilled = (bucket: { tokens: number; atMs: number }, nowMs: number): number =>
    Math.min(burst, bucket.tokens + (Math.max(0, nowMs - bucket.atMs) / SECOND_MS) * perSecond);

  function forgetThoseAtRest(nowMs: number): void {
    for (const [node, bucket] of buckets) {
      if (refilled(bucket, nowMs) >= burst) buckets.delete(node);
    }
  }

  return {
    admits(node, nowMs) {
      const bucket = buckets.get(node);
      const tokens = bucket === undefined ? burst : refilled(bucket, nowMs);
      const admitted = tokens >= 1;
      if (bucket === undefined && buckets.size >= REMEMBERED) forgetThoseAtRest(nowMs);
      buckets.set(node, { tokens: admitted ? tokens - 1 : tokens, atMs: nowMs });
      return admitted;
    },
  };
}
