import type { NodeInterval } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { reconstructPast, type NodePast, type PastGap } from './past-intervals.ts';

const HOUR = 3_600_000;
const startMs = Date.UTC(2026, 9, 1);
const at = (hours: number) => startMs + hours * HOUR;
const power = { shutDownRatio: 0.1 };
const gap = (from: number, to: number, over: Partial<PastGap> = {}): PastGap => ({
  fromMs: at(from),
  toMs: at(to),
  unsureReadings: 0,
  ...over,
});
const judged = (
  state: NodeInterval['state'],
  from: number,
  to: number,
  evidence: string[] = [],
) => ({
  state,
  fromMs: at(from),
  toMs: at(to),
  cause: 'As judged at the time.',
  evidence,
});
const tell = (past: Partial<NodePast>) => {
  const intervals = reconstructPast(
    { fromMs: at(0), toMs: at(100), gaps: [], judged: [], ...past },
    power,
  );
  // Whatever is told: data and gaps add up to the whole period.
  expect(intervals[0]?.fromMs).toBe(at(0));
  expect(intervals.at(-1)?.toMs).toBe(at(100));
  intervals.slice(1).forEach(({ fromMs }, i) => expect(fromMs).toBe(intervals[i]?.toMs));
  return intervals.map(({ state, fromMs, toMs }) => [
    state,
    (fromMs - startMs) / HOUR,
    ((toMs ?? NaN) - startMs) / HOUR,
  ]);
};

describe('a past that has come in', () => {
  it('is up where there are readings', () => {
    expect(tell({})).toEqual([['up', 0, 100]]);
  });

  it('is dark as designed in a hole that begins at the shut-down level', () => {
    const gaps = [gap(20, 60, { chargeBeforeRatio: 0.12, uptimeAfterMs: 60_000 })];
    expect(tell({ gaps })).toEqual([
      ['up', 0, 20],
      ['dark-as-designed', 20, 60],
      ['up', 60, 100],
    ]);
  });

  it('is unexplained in a hole that begins well charged, or of which nothing is known', () => {
    const gaps = [gap(20, 30, { chargeBeforeRatio: 0.7, uptimeAfterMs: 60_000 }), gap(50, 60)];
    expect(tell({ gaps }).map(([state]) => state)).toEqual([
      'up',
      'silent-unexplained',
      'up',
      'silent-unexplained',
      'up',
    ]);
  });

  it('had its link down where it ran through the hole', () => {
    const gaps = [gap(20, 30, { chargeBeforeRatio: 0.11, uptimeAfterMs: 40 * HOUR })];
    expect(tell({ gaps })[1]).toEqual(['link-down', 20, 30]);
  });

  it('says when it was the clock', () => {
    const gaps = [gap(20, 30, { unsureReadings: 12 })];
    const [, hole] = reconstructPast({ fromMs: at(0), toMs: at(100), gaps, judged: [] }, power);
    expect(hole?.cause).toContain('clock');
  });

  it('keeps what a farewell and people said, and drops what the readings refute', () => {
    const gaps = [gap(20, 60, { chargeBeforeRatio: 0.5 })];
    const declared = judged('dark-as-designed', 21, 40, ['It said farewell: charge']);
    expect(tell({ gaps, judged: [declared, judged('off-for-work', 40, 50)] })).toEqual([
      ['up', 0, 20],
      ['dark-as-designed', 20, 40],
      ['off-for-work', 40, 50],
      ['dark-as-designed', 50, 60],
      ['up', 60, 100],
    ]);
    const said = 'Its last message said it was shutting down: charge';
    const later = judged('dark-as-designed', 21, 40, [said]);
    expect(tell({ gaps, judged: [later] })).toEqual([
      ['up', 0, 20],
      ['dark-as-designed', 20, 60],
      ['up', 60, 100],
    ]);
    expect(tell({ judged: [judged('silent-unexplained', 5, 50), judged('low', 60, 70)] })).toEqual([
      ['up', 0, 60],
      ['low', 60, 70],
      ['up', 70, 100],
    ]);
  });
});
