import { HOUR_MS, type NodeId } from '@duskline/domain';

/** One seed per node and hour, so that any outlook can be computed again from its stored inputs. */
export function outlookSeed(nodeId: NodeId, atMs: number): number {
  const hour = Math.floor(atMs / HOUR_MS);
  // Multiplication by the 32-bit golden ratio spreads neighbouring hours and nodes (Knuth, TAOCP 3, 6.4).
  return (Math.imul(hour, 0x9e3779b1) ^ Math.imul(nodeId + 1, 0x85ebca6b)) >>> 0;
}
