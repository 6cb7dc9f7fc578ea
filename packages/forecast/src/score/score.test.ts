import { describe, expect, it } from 'vitest';
import { seededRandom } from '../seeded-random.ts';
import {
  balanceDaysToEmpty,
  blockBootstrap,
  brierScore,
  crpsWithinHorizon,
  harrellC,
  isCovered,
  learnLogisticMap,
  levelsToRead,
  monthlyBaseRate,
  murphyParts,
  noSunDaysToEmpty,
  pinballLoss,
  type ProbabilityCase,
  randomisedPit,
  recalibrated,
  reliabilityBins,
} from './index.ts';

const never = Number.POSITIVE_INFINITY;

describe('the CRPS within a horizon', () => {
  it('is the absolute error of a single member', () => {
    expect(crpsWithinHorizon([4], 6.5, 21)).toBeCloseTo(2.5, 12);
  });

  it('is (1 + 1)/2 − ½ · (0 + 2 + 2 + 0)/4 = 0.5 for members 1 and 3 and the truth 2', () => {
    expect(crpsWithinHorizon([1, 3], 2, 21)).toBeCloseTo(0.5, 12);
  });

  it('cuts members and truth at the horizon, so that "never" twice scores nothing', () => {
    expect(crpsWithinHorizon([never, 40], 25, 21)).toBe(0);
    // Members 1 and 21 (cut), truth 21: 20/2 − ½ · (20 + 20)/4 = 5.
    expect(crpsWithinHorizon([1, never], never, 21)).toBeCloseTo(5, 12);
  });

  it('approaches 1/12 for a uniform ensemble about its middle: 1/4 − ½ · 1/3', () => {
    const members = Array.from({ length: 10_000 }, (_, i) => (i + 0.5) / 10_000);
    expect(crpsWithinHorizon(members, 0.5, 21)).toBeCloseTo(1 / 12, 6);
  });

  it('approaches the closed form of the normal: σ · (2φ(0) − 1/√π) = 0.23369 σ at the mean', () => {
    // Gneiting & Raftery 2007, J. Am. Stat. Assoc. 102:359, §4.2, with z = 0.
    const random = seededRandom(3);
    const members = Array.from({ length: 100_000 }, () => 10 + random.normal());
    const closed = 2 / Math.sqrt(2 * Math.PI) - 1 / Math.sqrt(Math.PI);
    expect(closed).toBeCloseTo(0.23369, 5);
    expect(Math.abs(crpsWithinHorizon(members, 10, 21) - closed)).toBeLessThan(0.003);
  });
});

describe('pinball, cover and PIT', () => {
  it('pay 0.9 a day above and 0.1 below for P90 (definition, Koenker & Bassett 1978)', () => {
    expect(pinballLoss(0.9, 10, 12)).toBeCloseTo(1.8, 12);
    expect(pinballLoss(0.9, 10, 8)).toBeCloseTo(0.2, 12);
    expect(pinballLoss(0.5, 10, 7)).toBeCloseTo(1.5, 12); // half the absolute error
  });

  it('count "beyond the horizon" as covered by a range that reaches it', () => {
    expect(isCovered({ low: 5, high: undefined }, never, 21)).toBe(true);
    expect(isCovered({ low: 5, high: 40 }, 30, 21)).toBe(true);
    expect(isCovered({ low: 5, high: 12 }, 30, 21)).toBe(false);
    expect(isCovered({ low: 5, high: 12 }, 4.9, 21)).toBe(false);
    expect(isCovered({ low: undefined, high: undefined }, 20, 21)).toBe(false);
  });

  it('spread evenly when the truth is one more draw: mean ½, standard deviation 0.289', () => {
    const random = seededRandom(11);
    const draw = (): number => Math.min(21, 12 + 12 * random.normal());
    const transforms = Array.from({ length: 4000 }, () =>
      randomisedPit(Array.from({ length: 19 }, draw), draw(), 21, random.uniform()),
    );
    const mean = transforms.reduce((a, b) => a + b, 0) / transforms.length;
    const sigma = Math.sqrt(
      transforms.reduce((a, b) => a + (b - mean) ** 2, 0) / transforms.length,
    );
    expect(Math.abs(mean - 0.5)).toBeLessThan(0.015);
    expect(Math.abs(sigma - Math.sqrt(1 / 12))).toBeLessThan(0.01);
  });
});

describe('Brier', () => {
  const cases: readonly ProbabilityCase[] = [
    ...Array.from({ length: 10 }, (_, i) => ({ probability: 0.3, happened: i < 2 })),
    ...Array.from({ length: 10 }, (_, i) => ({ probability: 0.7, happened: i < 9 })),
  ];

  it('is the squared error', () => {
    expect(brierScore(0.7, true)).toBeCloseTo(0.09, 12);
    expect(brierScore(0.7, false)).toBeCloseTo(0.49, 12);
  });

  it('falls into the parts of Murphy 1973, worked by hand', () => {
    const parts = murphyParts(cases);
    // Base rate 11/20; bins (0.3, 0.2) and (0.7, 0.9) of ten each.
    expect(parts.reliability).toBeCloseTo(0.5 * 0.01 + 0.5 * 0.04, 12);
    expect(parts.resolution).toBeCloseTo(0.5 * 0.35 ** 2 + 0.5 * 0.35 ** 2, 12);
    expect(parts.uncertainty).toBeCloseTo(0.55 * 0.45, 12);
    expect(parts.brier).toBeCloseTo(0.025 - 0.1225 + 0.2475, 12);
    expect(parts.withinBins).toBeCloseTo(0, 12);
  });

  it('shows in bins how often the event came', () => {
    expect(reliabilityBins(cases).map((bin) => [bin.count, bin.observedShare])).toEqual([
      [10, 0.2],
      [10, 0.9],
    ]);
    expect(reliabilityBins([{ probability: 1, happened: true }])[0]!.to).toBe(1);
  });
});

describe("Harrell's C", () => {
  const at = (forecast: number, observed: number, isCensored = false) => ({
    forecast,
    observed,
    isCensored,
  });

  it('is 1, 0 and ½ for the right order, the wrong order and no difference', () => {
    expect(harrellC([at(1, 2), at(5, 6), at(9, 11)])).toBe(1);
    expect(harrellC([at(9, 2), at(5, 6), at(1, 11)])).toBe(0);
    expect(harrellC([at(5, 2), at(5, 6)])).toBe(0.5);
  });

  it('leaves out pairs of which nobody knows which came first', () => {
    // (3, censored at 4) against (1, came at 6): unknown. Against (2, came at 2): known, right.
    expect(harrellC([at(3, 4, true), at(1, 6), at(2, 2)])).toBe(0.5); // pairs 3–2 right, 1–2 wrong
    expect(harrellC([at(3, 21, true), at(1, 21, true)])).toBeUndefined();
    expect(harrellC([at(3, 21, true), at(1, 21)])).toBe(1);
  });
});

describe('the plain rules', () => {
  const hours = (count: number, value: number | null) =>
    new Array<number | null>(count).fill(value);

  it('divide the reserve by what the day loses', () => {
    const facts = { panelW: hours(168, 1), loadW: hours(168, 1.5), reserveWh: 36 };
    expect(balanceDaysToEmpty(facts, 24)).toBeCloseTo(3, 12); // 36 Wh ÷ (0.5 W · 24 h)
    expect(noSunDaysToEmpty(facts)).toBeCloseTo(1, 12); // 36 Wh ÷ (1.5 W · 24 h)
    expect(balanceDaysToEmpty({ ...facts, panelW: hours(168, 2) }, 24)).toBe(never);
    expect(balanceDaysToEmpty({ ...facts, loadW: hours(168, null) }, 24)).toBe(never);
  });

  it('know each month by its own share, and by the share of all where it has no case', () => {
    const rates = monthlyBaseRate([
      { month: 0, happened: true },
      { month: 0, happened: false },
      { month: 6, happened: false },
      { month: 6, happened: false },
    ]);
    expect([rates[0], rates[6], rates[3]]).toEqual([0.5, 0, 0.25]);
  });
});

describe('the block bootstrap', () => {
  it('gives a mean of 100 blocks of variance 1 an interval of ± 1.645 / 10', () => {
    const random = seededRandom(5);
    const values = Float64Array.from({ length: 100 }, () => random.normal());
    const mean = values.reduce((a, b) => a + b, 0) / 100;
    const sigma = Math.sqrt(values.reduce((a, b) => a + (b - mean) ** 2, 0) / 100);
    const { value, low, high } = blockBootstrap(
      100,
      (copies) => values.reduce((sum, one, i) => sum + one * copies[i]!, 0) / 100,
      { random, resamples: 2000 },
    );
    expect(value).toBeCloseTo(mean, 12);
    expect(Math.abs(high - low - (2 * 1.645 * sigma) / 10)).toBeLessThan(0.035);
    expect(Math.abs((high + low) / 2 - mean)).toBeLessThan(0.03);
  });
});

describe('recalibration', () => {
  const random = seededRandom(8);
  const logit = (p: number): number => Math.log(p / (1 - p));
  /** Over-confident on purpose: the event comes at log-odds −0.4 + 0.8 of what was said. */
  const cases = Array.from({ length: 4000 }, () => {
    const probability = 0.02 + 0.96 * random.uniform();
    const truth = 1 / (1 + Math.exp(-(-0.4 + 0.8 * logit(probability))));
    return { probability, happened: random.uniform() < truth };
  });

  it('finds the bend that was put in', () => {
    const map = learnLogisticMap(cases)!;
    expect(Math.abs(map.offset + 0.4)).toBeLessThan(0.12);
    expect(Math.abs(map.slope - 0.8)).toBeLessThan(0.08);
    expect(recalibrated(0.8, map)).toBeLessThan(0.72);
    expect(recalibrated(0.8, undefined)).toBe(0.8);
  });

  it('waits for 200 outcomes with 20 events', () => {
    expect(learnLogisticMap(cases.slice(0, 199))).toBeUndefined();
    const rare = Array.from({ length: 500 }, (_, i) => ({ probability: 0.1, happened: i < 19 }));
    expect(learnLogisticMap(rare)).toBeUndefined();
  });

  it('widens a range that is too narrow', () => {
    // Transforms of an ensemble with half the true spread crowd at the ends.
    const narrow = Array.from({ length: 1000 }, (_, i) => {
      const uniform = (i + 0.5) / 1000;
      return uniform < 0.5 ? uniform ** 2 * 2 : 1 - 2 * (1 - uniform) ** 2;
    });
    const level = levelsToRead(narrow);
    expect(level(0.1)).toBeLessThan(0.04);
    expect(level(0.9)).toBeGreaterThan(0.96);
    expect(level(0.5)).toBeCloseTo(0.5, 2);
    expect(levelsToRead(narrow.slice(0, 100))(0.1)).toBe(0.1);
  });
});
