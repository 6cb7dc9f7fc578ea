import { describe, expect, it } from 'vitest';
import { byteRange } from './byte-range.ts';

const tag = '"abc"';
const range = (header: string | undefined, size = 10_000, ifRange?: string) =>
  byteRange(header, { size, tag, ifRange });

describe('a range of bytes', () => {
  // RFC 9110 §14.1.2, the examples "assuming a representation of length 10000".
  it('is read as the standard’s own examples say', () => {
    expect(range('bytes=0-499')).toEqual({ kind: 'part', from: 0, to: 500 });
    expect(range('bytes=500-999')).toEqual({ kind: 'part', from: 500, to: 1000 });
    expect(range('bytes=-500')).toEqual({ kind: 'part', from: 9500, to: 10_000 });
    expect(range('bytes=9500-')).toEqual({ kind: 'part', from: 9500, to: 10_000 });
    expect(range('bytes=0-0')).toEqual({ kind: 'part', from: 0, to: 1 });
    expect(range('bytes=-1')).toEqual({ kind: 'part', from: 9999, to: 10_000 });
  });

  it('ends with the file, and lies outside it only when it begins there (§14.1.2)', () => {
    expect(range('bytes=9000-99999')).toEqual({ kind: 'part', from: 9000, to: 10_000 });
    expect(range('bytes=-99999')).toEqual({ kind: 'part', from: 0, to: 10_000 });
    expect(range('bytes=10000-')).toEqual({ kind: 'outside' });
    expect(range('bytes=-0')).toEqual({ kind: 'outside' });
    expect(range('bytes=0-', 0)).toEqual({ kind: 'outside' });
  });

  it('is left alone where it is none, or several, or of another unit (§14.2)', () => {
    for (const header of [
      undefined,
      '',
      'bytes=',
      'bytes=-',
      'bytes=5-2',
      'lines=0-9',
      'bytes=a-b',
    ])
      expect(range(header), String(header)).toEqual({ kind: 'whole' });
    expect(range('bytes=0-0,-1')).toEqual({ kind: 'whole' });
  });

  it('holds only for the file that was begun (§13.1.5)', () => {
    expect(range('bytes=5-', 10, tag)).toEqual({ kind: 'part', from: 5, to: 10 });
    expect(range('bytes=5-', 10, '"another"')).toEqual({ kind: 'whole' });
    // A weak tag is never good enough for a range.
    expect(range('bytes=5-', 10, 'W/"abc"')).toEqual({ kind: 'whole' });
  });
});
