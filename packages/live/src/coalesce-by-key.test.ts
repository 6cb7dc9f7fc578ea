import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { coalesceByKey } from './coalesce-by-key.ts';

interface Said {
  readonly key: string;
  readonly version: number;
}

describe('coalescing by key', () => {
  const sent: string[] = [];
  const open = () =>
    coalesceByKey<Said>({
      gapMs: 1000,
      keyOf: ({ key }) => key,
      supersedes: (next, held) => next.version > held.version,
      send: ({ key, version }) => sent.push(`${key}${version}`),
    });
  beforeEach(() => {
    vi.useFakeTimers();
    sent.length = 0;
  });
  afterEach(() => {
    vi.useRealTimers();
  });

  it('sends the first at once, and of those in the same second only the newest', () => {
    const { offer } = open();
    for (const version of [1, 2, 3, 4]) offer({ key: 'a', version });
    expect(sent).toEqual(['a1']);
    vi.advanceTimersByTime(999);
    expect(sent).toEqual(['a1']);
    vi.advanceTimersByTime(1);
    expect(sent).toEqual(['a1', 'a4']);
  });

  it('keeps one key from waiting for another', () => {
    const { offer } = open();
    offer({ key: 'a', version: 1 });
    offer({ key: 'b', version: 1 });
    expect(sent).toEqual(['a1', 'b1']);
  });

  it('never sends more than one a second, however many come', () => {
    const { offer } = open();
    for (let version = 1; version <= 100; version++) {
      offer({ key: 'a', version });
      vi.advanceTimersByTime(50);
    }
    // 5 s of offers: one at once and one at the end of each second.
    expect(sent.length).toBe(6);
    expect(sent.at(-1)).toBe('a100');
  });

  it('does not let an older one overtake a newer', () => {
    const { offer } = open();
    offer({ key: 'a', version: 5 });
    offer({ key: 'a', version: 4 });
    offer({ key: 'a', version: 7 });
    offer({ key: 'a', version: 6 });
    vi.advanceTimersByTime(5000);
    expect(sent).toEqual(['a5', 'a7']);
  });

  it('sends nothing after it was stopped', () => {
    const { offer, stop } = open();
    offer({ key: 'a', version: 1 });
    offer({ key: 'a', version: 2 });
    stop();
    vi.advanceTimersByTime(5000);
    expect(sent).toEqual(['a1']);
  });
});
