/** A stream of pseudo-random numbers that a seed repeats exactly, on any machine. */
export interface SeededRandom {
  /** Uniform on [0, 1), 32 random bits. */
  uniform(): number;
  /** Whole number on 0 … bound − 1; bound ≥ 1. */
  below(bound: number): number;
  /** Standard normal deviate. */
  normal(): number;
}

const TWO_POW_32 = 4_294_967_296;

/**
 * xoshiro128**, started from a seed through SplitMix32, so that near seeds give unrelated streams.
 *
 * @param seed  any whole number; only its low 53 bits count
 * @returns a stream with its own state
 * @throws RangeError when the seed is not a safe integer (a caller's bug)
 * @accuracy bit-exact: first ten outputs of state 1,2,3,4 as published, seeded-random.test.ts
 * @source Blackman & Vigna 2021, ACM Trans. Math. Softw. 47(4):36, xoshiro128** 1.1; SplitMix32: finaliser of MurmurHash3
 *         (Appleby) over a Weyl sequence, as in Steele, Lea & Flood 2014
 */
export function seededRandom(seed: number): SeededRandom {
  if (!Number.isSafeInteger(seed))
    throw new RangeError(`The seed must be a whole number: ${seed}.`);
  const low = seed >>> 0;
  const high = Math.floor(seed / TWO_POW_32) >>> 0;
  const next = splitMix32((low ^ Math.imul(high, 0x85ebca6b)) >>> 0);
  return randomFromState([next(), next(), next(), next()]);
}

/** The same generator from four 32-bit words, not all zero: for checking against published vectors. */
export function randomFromState(
  state: readonly [number, number, number, number],
): SeededRandom & { word(): number } {
  // In typed arrays: captured variables that change would be boxed anew with every number drawn.
  const words = Int32Array.from(state);
  const spare = new Float64Array(1);
  let hasSpare = false;

  function word(): number {
    const b = words[1]!;
    const c = words[2]! ^ words[0]!;
    const d = words[3]! ^ b;
    words[0] = words[0]! ^ d;
    words[1] = b ^ c;
    words[2] = c ^ (b << 9);
    words[3] = rotateLeft(d, 11);
    return Math.imul(rotateLeft(Math.imul(b, 5), 7), 9) >>> 0;
  }

  const uniform = (): number => word() / TWO_POW_32;

  /** Marsaglia's polar method (1964): two deviates at a time, the second kept for the next call. */
  function normal(): number {
    if (hasSpare) {
      hasSpare = false;
      return spare[0]!;
    }
    let x: number;
    let y: number;
    let square: number;
    do {
      x = 2 * uniform() - 1;
      y = 2 * uniform() - 1;
      square = x * x + y * y;
    } while (square >= 1 || square === 0);
    const factor = Math.sqrt((-2 * Math.log(square)) / square);
    spare[0] = y * factor;
    hasSpare = true;
    return x * factor;
  }

  return { word, uniform, normal, below: (bound) => Math.floor(uniform() * bound) };
}

const rotateLeft = (word: number, by: number): number => (word << by) | (word >>> (32 - by));

function splitMix32(seed: number): () => number {
  let weyl = seed | 0;
  return () => {
    weyl = (weyl + 0x9e3779b9) | 0;
    let mixed = weyl ^ (weyl >>> 16);
    mixed = Math.imul(mixed, 0x85ebca6b);
    mixed ^= mixed >>> 13;
    mixed = Math.imul(mixed, 0xc2b2ae35);
    return (mixed ^ (mixed >>> 16)) >>> 0;
  };
}
