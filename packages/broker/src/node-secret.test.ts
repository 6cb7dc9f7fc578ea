import { describe, expect, it } from 'vitest';
import { hashSecret, newNodeSecret, secretMatches } from './index.ts';

describe('a node’s secret', () => {
  it('is 256 random bits that need no quoting in a shell, and never the same twice', () => {
    const secrets = Array.from({ length: 100 }, newNodeSecret);
    expect(new Set(secrets).size).toBe(100);
    for (const secret of secrets) {
      expect(secret).toMatch(/^[A-Za-z0-9_-]{43}$/);
      expect(Buffer.from(secret, 'base64url')).toHaveLength(32);
    }
  });

  it('is kept as SHA-256 (FIPS 180-4, example "abc")', () => {
    expect(Buffer.from(hashSecret('abc')).toString('hex')).toBe(
      'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad',
    );
  });

  it('matches its own hash, as text or as bytes, and nothing else', () => {
    const hash = hashSecret('abc');
    expect(secretMatches('abc', hash)).toBe(true);
    expect(secretMatches(Buffer.from('abc'), hash)).toBe(true);
    expect(secretMatches('abd', hash)).toBe(false);
    expect(secretMatches('', hash)).toBe(false);
    expect(secretMatches('abc', undefined)).toBe(false);
    expect(secretMatches('abc', new Uint8Array())).toBe(false);
    expect(secretMatches('abc', hash.slice(0, 31))).toBe(false);
    expect(secretMatches('abc', new Uint8Array(32))).toBe(false);
  });
});
