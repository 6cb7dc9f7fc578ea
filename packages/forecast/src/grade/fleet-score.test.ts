import { DAY_MS } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { fleetRecalibration, fleetScore, type ScoredOutlook } from './fleet-score.ts';
import type { GradeFigures } from './grade-outlook.ts';

const startMs = Date.UTC(2026, 8, 1);
const figures = (crpsDays: number, plainDays: number): GradeFigures => ({
  crpsDays,
  pinballDays: { p10: 0, p50: 0, p90: 0 },
  brier7: 0,
  covered80: crpsDays < 2,
  pit: 0.35,
  nonTrivial: true,
  baselines: {
    lastDay: { crpsDays: plainDays, brier7: 1 },
    lastWeek: { crpsDays: plainDays, brier7: 0.25 },
    noSun: { crpsDays: 0, brier7: 0 },
  },
});
const outlook = (i: number, more: Partial<ScoredOutlook> = {}): ScoredOutlook => ({
  nodeId: i % 4,
  issuedAtMs: startMs + i * DAY_MS,
  hindcast: i < 10,
  of: 'empty',
  rawChance7: 0.8,
  chance7: 0.8,
  happened7: i % 2 === 0,
  outcome: i % 2 === 0 ? 'happened' : 'did-not',
  figures: figures(1, 2),
  ...more,
});
const many = (count: number, more: (i: number) => Partial<ScoredOutlook> = () => ({})) =>
  Array.from({ length: count }, (_, i) => outlook(i, more(i)));
const score = (rows: readonly ScoredOutlook[], nowDays: number) =>
  fleetScore(rows, { nowMs: startMs + nowDays * DAY_MS, seed: 1 });

describe('the score of a fleet', () => {
  it('is the mean of its outlooks, beside the plain rules', () => {
    const { chance, days } = score(many(40), 100);
    expect(chance).toMatchObject({ count: 40, hindcasts: 10, events: 20, baseRate: 0.5 });
    // Half of 0.2² and half of 0.8².
    expect(chance.brier?.value).toBeCloseTo(0.34, 12);
    // 0.25 is what "half of them" would score: worse than that.
    expect(chance.skill.baseRate?.value).toBeCloseTo(1 - 0.34 / 0.25, 12);
    expect(chance.skill.lastDay?.value).toBeCloseTo(0.66, 12);
    expect(chance.skill.noSun).toBeUndefined();
    expect(days.crpsDays?.value).toBe(1);
    expect(days.skill.lastWeek?.value).toBe(0.5);
    expect(days.cover80?.value).toBe(1);
    expect(days.tenths[3]).toBe(40);
    expect(chance.bins).toMatchObject([{ count: 40, hindcasts: 10, observedShare: 0.5 }]);
  });

  it('counts an outlook when its time is over, though it came true before', () => {
    const early = score([outlook(0, { outcome: 'happened' })], 20);
    expect(early.chance.count).toBe(1);
    expect(early.days.count).toBe(0);
    expect(score([outlook(0)], 21).days.count).toBe(1);
    expect(score([outlook(0)], 6).chance.count).toBe(0);
  });

  it('has wider intervals the fewer the blocks, and none without outlooks', () => {
    const uneven = (count: number) =>
      many(count, (i) => ({ figures: figures(i % 3, 2), nodeId: i % 8 }));
    const width = (rows: readonly ScoredOutlook[]) => {
      const { crpsDays } = score(rows, 600).days;
      return (crpsDays?.high ?? 0) - (crpsDays?.low ?? 0);
    };
    expect(width(uneven(24))).toBeGreaterThan(width(uneven(480)));
    expect(score([], 10).chance.brier).toBeUndefined();
  });

  it('counts those of which nobody can say what came', () => {
    const { figures: _none, happened7: _open, ...bare } = outlook(0);
    expect(score([{ ...bare, outcome: 'unknown' }], 60)).toMatchObject({
      unknown: 1,
      chance: { count: 0 },
    });
  });
});

describe('recalibration', () => {
  it('waits for two hundred outcomes, then pulls chances that were too sure towards what came', () => {
    const nowMs = startMs + 900 * DAY_MS;
    expect(fleetRecalibration(many(199), nowMs)).toBeUndefined();
    const map = fleetRecalibration(many(400), nowMs);
    expect(map?.cases).toBe(400);
    const bent = 1 / (1 + Math.exp(-((map?.offset ?? 0) + (map?.slope ?? 1) * Math.log(4))));
    expect(Math.abs(bent - 0.5)).toBeLessThan(0.05);
  });
});
