import { describe, expect, it } from 'vitest';
import { type Graded, type GradedReturn, gradeOutlooks, gradeReturns } from './backtest.ts';
import { hasStation, readHourly } from './open-weather.ts';
import { mean, skill } from './scores.ts';
import { type Design, liveTruthNode, powerPerRatedWatt } from './truth-node.ts';

/**
 * Outlooks on real irradiance, with the future hidden. Source of the weather: the stations named in the files' own headers
 * (a Danish ground station, a satellite record of Ireland). Issued every 7 days; overlapping outlooks are not independent.
 */
const files = ['hourly_lyngby_dk_2015_2017.csv', 'hourly_dublin_ie_2020_2023.csv'];
const designs: readonly Design[] = [
  { arrayToLoad: 0.8, autonomyDays: 3 },
  { arrayToLoad: 1.1, autonomyDays: 3 },
  { arrayToLoad: 0.8, autonomyDays: 7 },
];
const FIRST_ISSUE_HOUR = 70 * 24;
const EVERY_DAYS = 7;

/** Deviates for the day's load that owe nothing to the code under test: sum of twelve of a linear congruential sequence. */
function deviates(seed: number): () => number {
  let state = seed;
  const uniform = (): number =>
    (state = (state * 1_103_515_245 + 12_345) % 2_147_483_648) / 2_147_483_648;
  return () => Array.from({ length: 12 }, uniform).reduce((sum, value) => sum + value, -6);
}

const present = files.filter(hasStation);
if (present.length < files.length)
  console.warn(
    `Backtest skipped for want of open data: ${files.filter((file) => !hasStation(file)).join(', ')}.`,
  );

describe.skipIf(present.length === 0)('outlooks on real weather', () => {
  it('beat the balance of the last day and of the last week', () => {
    const outlooks: Graded[] = [];
    const returns: GradedReturn[] = [];
    let spentMs = 0;
    for (const file of present) {
      const weather = readHourly(file);
      const perWatt = powerPerRatedWatt(weather);
      designs.forEach((design, i) => {
        const node = liveTruthNode(weather, perWatt, { design, normal: deviates(i + 1) });
        const startedMs = performance.now();
        const graded = gradeOutlooks(weather, node, {
          fromHour: FIRST_ISSUE_HOUR,
          everyDays: EVERY_DAYS,
        });
        spentMs += performance.now() - startedMs;
        const back = gradeReturns(weather, node, FIRST_ISSUE_HOUR);
        print(`${weather.station}, ${design.arrayToLoad} × ${design.autonomyDays} d`, graded, back);
        outlooks.push(...graded);
        returns.push(...back);
      });
    }
    print('all', outlooks, returns);
    console.info(`${(spentMs / outlooks.length).toFixed(1)} ms an outlook (300 paths × 21 days)`);

    expect(outlooks.length).toBeGreaterThan(200 * present.length);
    expect(outlooks.filter((one) => one.observedDays <= 7).length).toBeGreaterThan(10);
    const crpsDays = outlooks.map((one) => one.crpsDays);
    const briers = outlooks.map((one) => one.brier);
    expect(
      skill(
        crpsDays,
        outlooks.map((one) => one.crpsDaysLast24h),
      ),
    ).toBeGreaterThan(0);
    expect(
      skill(
        briers,
        outlooks.map((one) => one.brierLast24h),
      ),
    ).toBeGreaterThan(0);
    expect(
      skill(
        crpsDays,
        outlooks.map((one) => one.crpsDaysLast7d),
      ),
    ).toBeGreaterThan(0);
  });
});

function print(name: string, graded: readonly Graded[], returns: readonly GradedReturn[]): void {
  const open = graded.filter((one) => one.isOpen);
  const of = (pick: (one: Graded) => number): number[] => graded.map(pick);
  console.info(
    [
      name.padEnd(48),
      `n ${graded.length}`,
      `dark7 ${mean(of((one) => (one.observedDays <= 7 ? 1 : 0))).toFixed(3)}`,
      `Brier skill vs 24 h ${skill(
        of((one) => one.brier),
        of((one) => one.brierLast24h),
      ).toFixed(2)}`,
      `vs 7 d ${skill(
        of((one) => one.brier),
        of((one) => one.brierLast7d),
      ).toFixed(2)}`,
      `CRPS ${mean(of((one) => one.crpsDays)).toFixed(2)} d`,
      `skill vs 24 h ${skill(
        of((one) => one.crpsDays),
        of((one) => one.crpsDaysLast24h),
      ).toFixed(2)}`,
      `vs 7 d ${skill(
        of((one) => one.crpsDays),
        of((one) => one.crpsDaysLast7d),
      ).toFixed(2)}`,
      `open: n ${open.length} CRPS ${mean(open.map((one) => one.crpsDays)).toFixed(2)} cover ${mean(open.map((one) => (one.isCovered ? 1 : 0))).toFixed(2)}`,
      `returns: n ${returns.length} CRPS ${mean(returns.map((one) => one.crpsDays)).toFixed(2)} cover ${mean(returns.map((one) => (one.isCovered ? 1 : 0))).toFixed(2)}`,
    ].join(' | '),
  );
}
