import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { judgeVisit, type VisitEvidence } from './judge-visit.ts';

const DAY = 20_000;
/** The weather of all sites together, day by day. */
const sky = (day: number): number => 0.35 + 0.3 * Math.abs(Math.sin(day * 1.7));
const days = (from: number, to: number) =>
  Array.from({ length: to - from + 1 }, (_, i) => from + i);
function evidence(
  factor: (day: number) => number,
  over: Partial<VisitEvidence> = {},
): VisitEvidence {
  const known = days(DAY - 14, DAY + 14);
  return {
    horizon: '14d',
    day: DAY,
    own: new Map(known.map((day) => [day, sky(day) * factor(day)])),
    peers: new Map(known.map((day) => [day, sky(day)])),
    ...over,
  };
}
/** A site's own noise beside the others: a few percent, the same at every run. */
const wobble = (day: number): number => 1 + 0.03 * Math.sin(day * 12.9898);

describe('the verdict on a visit', () => {
  it('finds what a cleaning gave, whatever the weather did', () => {
    const given = evidence((day) => (day < DAY ? 0.7 : 0.84) * wobble(day));
    const verdict = judgeVisit({ ...given, harvestAfterWhPerDay: 12 });
    if (verdict.kind !== 'judged') throw new Error('not judged');
    // 0.84 ÷ 0.70 = 1.2; of 12 Wh a day a sixth would not have come.
    expect(verdict.yieldChange).toBeCloseTo(0.2, 1);
    expect(verdict.gainWhPerDay).toBeCloseTo(2, 0);
    expect(verdict.lowChange).toBeLessThan(0.2);
    expect(verdict.highChange).toBeGreaterThan(0.2);
    expect(verdict.says).toMatch(/^14 days after the visit: yield \+\d+ %/);
  });

  // Welch's interval worked by hand: ln-shares 0, 0.1, 0, 0.1 before (mean 0.05, s² = 0.00333, /4) and 0.3, 0.3 after
  // (mean 0.3, s² = 0): ν = 3, t = 1.638, half = 1.638 × √0.000833 = 0.04728; 0.25 ± 0.04728.
  it('gives the range of the two-sample interval', () => {
    const own = new Map<number, number>();
    const peers = new Map<number, number>();
    for (const [day, log] of [
      [DAY - 4, 0],
      [DAY - 3, 0.1],
      [DAY - 2, 0],
      [DAY - 1, 0.1],
      [DAY + 1, 0.3],
      [DAY + 2, 0.3],
    ] as const) {
      peers.set(day, 0.5);
      own.set(day, 0.5 * Math.exp(log));
    }
    const verdict = judgeVisit({ horizon: '48h', day: DAY, own, peers });
    if (verdict.kind !== 'judged') throw new Error('not judged');
    expect(Math.log(1 + verdict.yieldChange)).toBeCloseTo(0.25, 6);
    expect(Math.log(1 + verdict.lowChange)).toBeCloseTo(0.25 - 0.04728, 3);
    expect(Math.log(1 + verdict.highChange)).toBeCloseTo(0.25 + 0.04728, 3);
  });

  it('says so when nothing stands out from the weather', () => {
    const verdict = judgeVisit(evidence((day) => wobble(day) ** 5));
    expect(verdict.kind).toBe('judged');
    expect(verdict.says).toContain('no change of the yield that stands out');
  });

  it('cannot tell without other sites, too early, or after too many dull days', () => {
    const fine = evidence((day) => (day < DAY ? 0.7 : 0.84));
    const cases: readonly VisitEvidence[] = [
      { ...fine, peers: new Map() },
      { ...fine, own: new Map([...fine.own].filter(([day]) => day <= DAY + 1)) },
      { ...fine, own: new Map([...fine.own].filter(([day]) => day > DAY - 3)) },
      { ...fine, peers: new Map([...fine.peers].map(([day]) => [day, 0.05])) },
    ];
    for (const one of cases) {
      const verdict = judgeVisit(one);
      expect(verdict.kind).toBe('cannot-tell');
      expect(verdict.says).toContain('at least three other sites');
    }
  });

  it('tells the reserve as it is, and that the weather is in it', () => {
    const { says } = judgeVisit(
      evidence(wobble, {
        reserve: { beforeWh: 31, afterWh: 60, beforeDays: 1.4, afterDays: 2.7 },
      }),
    );
    expect(says).toContain('Reserve 31 Wh before and 60 Wh after, 1.4 and 2.7 days without sun');
  });

  it('does not change when all sites have more sun', () => {
    fc.assert(
      fc.property(fc.double({ min: 0.5, max: 2, noNaN: true }), (sun) => {
        const given = evidence((day) => (day < DAY ? 0.7 : 0.8) * wobble(day));
        const brighter = (all: ReadonlyMap<number, number>) =>
          new Map([...all].map(([day, y]) => [day, day > DAY ? y * sun : y]));
        const a = judgeVisit(given);
        const b = judgeVisit({ ...given, own: brighter(given.own), peers: brighter(given.peers) });
        if (a.kind !== 'judged' || b.kind !== 'judged') throw new Error('not judged');
        expect(b.yieldChange).toBeCloseTo(a.yieldChange, 9);
        expect(b.lowChange).toBeCloseTo(a.lowChange, 9);
      }),
    );
  });
});
