import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';

export interface Random {
  /** 0 … 1, without 1. */
  readonly uniform: () => number;
  /** Mean 0, standard deviation 1 (Box & Muller 1958). */
  readonly normal: () => number;
}

/** A stream of chance that is the same for the same seed. */
export function seededRandom(seed: number): Random {
  const source = xoroshiro128plus(seed | 0);
  const uniform = () => uniformFloat64(source);
  return {
    uniform,
    normal: () => Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform()),
  };
}

/** A number from a text, to give every site a stream of its own (FNV-1a, 32 bit). */
export function seedOf(text: string): number {
  let hash = 0x811c9dc5;
  for (let i = 0; i < text.length; i++) hash = Math.imul(hash ^ text.charCodeAt(i), 0x01000193);
  return hash >>> 0;
}
