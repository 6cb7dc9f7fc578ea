import { describe, expect, it } from 'vitest';
import { slowReader } from './slow-reader.ts';

describe('a slow reader', () => {
  const limits = { maxWaitingBytes: 1000, patienceMs: 5000 };

  it('is not one that was told much just now and catches up', () => {
    const isSlow = slowReader(limits);
    const reader = {};
    expect(isSlow(reader, 5000, 0)).toBe(false);
    expect(isSlow(reader, 900, 3000)).toBe(false);
    expect(isSlow(reader, 5000, 6000)).toBe(false);
  });

  it('is one that stays behind for longer than patience lasts', () => {
    const isSlow = slowReader(limits);
    const reader = {};
    expect(isSlow(reader, 1001, 0)).toBe(false);
    expect(isSlow(reader, 1001, 4999)).toBe(false);
    expect(isSlow(reader, 1001, 5000)).toBe(true);
  });

  it('is one for which far too much waits, at once', () => {
    expect(slowReader(limits)({}, 8001, 0)).toBe(true);
  });

  it('is not another because of one', () => {
    const isSlow = slowReader(limits);
    isSlow({}, 2000, 0);
    expect(isSlow({}, 2000, 6000)).toBe(false);
  });
});
