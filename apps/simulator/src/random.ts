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
  const source = xoroshiro128plus(scrambled(seed));
  const uniform = () => uniformFloat64(source);
  // The first numbers of this generator still show the seed.
  for (let i = 0; i < 4; i++) uniform();
  return {
    uniform,
    normal: () => Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform()),
  };
}

/** Chance that belongs to a moment: whoever comes by it, and whatever came before, draws the same. */
export function randomAt(seed: number, atMs: number): Random {
  return seededRandom(seedAt(seed, atMs));
}

/** One such number of mean 0 and standard deviation 1, quickly. */
export function normalAt(seed: number, atMs: number): number {
  const first = (scrambled(seedAt(seed, atMs)) >>> 0) / 2 ** 32;
  const second = (scrambled(seedAt(~seed, atMs)) >>> 0) / 2 ** 32;
  return Math.sqrt(-2 * Math.log(1 - first)) * Math.cos(2 * Math.PI * second);
}

function seedAt(seed: number, atMs: number): number {
  const high = Math.floor(atMs / 2 ** 32);
  const low = (atMs - high * 2 ** 32) | 0;
  return scrambled(seed ^ scrambled(low ^ scrambled(high)));
}

/** A number from a text, to give every site a stream of its own (FNV-1a, 32 bit). */
export function seedOf(text: string): number {
  let hash = 0x811c9dc5;
  for (let i = 0; i < text.length; i++) hash = Math.imul(hash ^ text.charCodeAt(i), 0x01000193);
  return hash >>> 0;
}

/** Neighbouring seeds must not give neighbouring streams (the finalizer of MurmurHash3, public domain). */
function scrambled(seed: number): number {
  let hash = seed | 0;
  hash = Math.imul(hash ^ (hash >>> 16), 0x85ebca6b);
  hash = Math.imul(hash ^ (hash >>> 13), 0xc2b2ae35);
  return (hash ^ (hash >>> 16)) | 0;
}
