import { openTestStore } from '@duskline/test-harness';
import { createHash } from 'node:crypto';
import { beforeAll, describe, expect, it } from 'vitest';
import type { Store } from './store.ts';

const MINUTE = 60_000;
const START = Date.UTC(2026, 10, 26, 12);
const key = (text: string): Uint8Array => createHash('sha256').update(text).digest();
/** Two servers on one database. */
let one: Store;
let other: Store;

beforeAll(() =>
  openTestStore(async (opened) => {
    one = opened.store;
    other = await opened.openAnother();
  }),
);

const pair = (name: string) => [
  { key: key(`pair ${name}`), most: 5 },
  { key: key(`ip ${name}`), most: 20 },
];

describe('attempts to sign in, counted by all servers together', () => {
  it('are held off by either server once both have seen the most', async () => {
    const waits: number[] = [];
    for (let i = 0; i < 6; i += 1)
      waits.push(
        await (i % 2 === 0 ? one : other).signInCounts.admit(pair('a'), MINUTE, START + i * 1000),
      );
    // The first of five was at 0 s: at 5 s there are 55 s to wait.
    expect(waits).toEqual([0, 0, 0, 0, 0, 55_000]);
    const later = (ms: number) => other.signInCounts.admit(pair('a'), MINUTE, START + ms);
    expect(await later(59_999)).toBe(1);
    expect(await later(60_000)).toBe(0);
    expect(await other.signInCounts.admit(pair('b'), MINUTE, START + 5000)).toBe(0);
  });

  it('are let in exactly as often as is allowed when many come at once', async () => {
    const all = await Promise.all(
      Array.from({ length: 40 }, (_, i) =>
        (i % 2 === 0 ? one : other).signInCounts.admit(pair('c'), MINUTE, START + 200_000),
      ),
    );
    expect(all.filter((wait) => wait === 0)).toHaveLength(5);
  });

  it('are forgotten for an account that is in', async () => {
    for (let i = 0; i < 5; i += 1) await one.signInCounts.admit(pair('d'), MINUTE, START + 400_000);
    expect(await other.signInCounts.admit(pair('d'), MINUTE, START + 400_000)).toBe(MINUTE);
    await one.signInCounts.forget(key('pair d'));
    expect(await other.signInCounts.admit(pair('d'), MINUTE, START + 400_000)).toBe(0);
  });
});
