import { expect, it } from 'vitest';
import { createLiveQuota } from './live-quota.ts';

const admitted = (
  quota: ReturnType<typeof createLiveQuota>,
  node: string,
  atMs: number,
  n: number,
) => Array.from({ length: n }, () => quota.admits(node, atMs)).filter(Boolean).length;

it('lets ten seconds’ worth through at once, then so many a second', () => {
  const quota = createLiveQuota(5);
  expect(admitted(quota, 'noisy', 0, 200)).toBe(50);
  expect(admitted(quota, 'noisy', 1000, 200)).toBe(5);
  expect(admitted(quota, 'noisy', 1100, 200)).toBe(0);
  expect(admitted(quota, 'noisy', 1200, 200)).toBe(1);
});

it('holds each node by itself, and forgives a clock that is set back', () => {
  const quota = createLiveQuota(1);
  expect(admitted(quota, 'noisy', 10_000, 50)).toBe(10);
  expect(admitted(quota, 'quiet', 10_000, 1)).toBe(1);
  expect(admitted(quota, 'noisy', 0, 5)).toBe(0);
  expect(admitted(quota, 'noisy', 2000, 5)).toBe(2);
});
