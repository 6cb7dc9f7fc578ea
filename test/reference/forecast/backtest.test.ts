import { describe, expect, it } from 'vitest';
import { type BacktestOptions, runSite, type SiteResult } from './backtest/run-site.ts';
import { scoreTable } from './backtest/score-table.ts';
import { openDataFolder, stationFiles } from './open-weather.ts';

/**
 * Outlooks on real irradiance with the future hidden: a reduced run of `npm run backtest`. Sources of the weather: the stations
 * named in the files' own headers (a Dutch ground station, a desert one, a satellite record of Ireland).
 *
 * What must hold is the "must" column of the project's research note, §14, got from an experiment of its own on ten sites with
 * the same set-up. Three stations of seven and every sixth week only, so the full run may differ in the second digit.
 */
const FILES = [
  'daily_debilt_nl_2000_2011.csv',
  'daily_maricopa_az_us_1988_2009.csv',
  'hourly_dublin_ie_2020_2023.csv',
];
const LONG_MS = 900_000;

const folder = openDataFolder();
const present = FILES.filter((file) => stationFiles(folder).includes(file));
if (present.length < FILES.length)
  console.warn(
    `SKIPPED for want of open data in ${folder}: ${FILES.filter((file) => !present.includes(file)).join(', ')}. ` +
      'Set DUSKLINE_OPEN_DATA to their folder.',
  );

const options: BacktestOptions = {
  folder,
  hidden: false,
  outsideDays: 0,
  everyDays: 42,
  paths: 200,
};

describe.skipIf(present.length < FILES.length)('outlooks on real weather', () => {
  let plain: readonly SiteResult[] = [];

  it(
    'beat every plain rule, and are right as often as they say',
    () => {
      plain = FILES.map((file) => runSite(file, options));
      const table = scoreTable(plain, 300);
      expect(table.forecasts.value).toBeGreaterThan(450);
      expect(plain.reduce((sum, { refused }) => sum + refused, 0)).toBe(0);

      expect(table.brierSkillVsBaseRate.value).toBeGreaterThan(0.18);
      expect(table.brierSkillVsBaseRate.low).toBeGreaterThan(0);
      expect(table.brierSkillVs7Day.value).toBeGreaterThan(0.3);
      expect(table.brierSkillVs7Day.low).toBeGreaterThan(0);
      expect(table.brierSkillVs24h.low).toBeGreaterThan(0);
      expect(table.crpsSkillVs7Day.value).toBeGreaterThan(0.33);
      expect(table.crpsSkillVs24h.low).toBeGreaterThan(0);
      expect(table.crpsSkillVsNoSun.low).toBeGreaterThan(0);
      expect(table.crpsNonTrivialDays.value).toBeLessThan(3);
      expect(table.cover80NonTrivial.value).toBeGreaterThan(0.72);
      expect(table.cover80NonTrivial.value).toBeLessThan(0.92);
      expect(table.cIndexNonTrivial.value).toBeGreaterThan(0.68);
    },
    LONG_MS,
  );

  it('say when a dark node will be back', () => {
    const table = scoreTable(plain, 0);
    expect(table.returns.value).toBeGreaterThan(30);
    expect(table.returnCrpsDays.value).toBeLessThan(0.95);
  });

  it(
    'gain from three true days given from outside',
    () => {
      // Of two stations only, so twice as often.
      const given = { ...options, everyDays: 21, outsideDays: 3 };
      const table = scoreTable([runSite(FILES[0]!, given), runSite(FILES[1]!, given)], 0);
      expect(table.brierSkillVsBaseRate.value).toBeGreaterThan(0.45);
      expect(table.crpsSkillVs7Day.value).toBeGreaterThan(0.4);
    },
    LONG_MS,
  );
});
