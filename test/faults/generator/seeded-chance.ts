/** A stream of numbers in [0, 1) that is the same for the same seed: an experiment that failed can be played again. */
export function seededChance(seed: number): () => number {
  // mulberry32: 32 bits of state, good enough to choose moments and bytes by.
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32;
  };
}
