import type { Interval } from '@duskline/forecast';
import type { ScoreTable } from './score-table.ts';

const COLUMNS: readonly (readonly [keyof ScoreTable, string, number])[] = [
  ['forecasts', 'outlooks', 0],
  ['darkRate', 'dark in 7 d', 3],
  ['brierSkillVsBaseRate', 'Brier skill, base rate', 2],
  ['brierSkillVs7Day', 'Brier skill, 7-day balance', 2],
  ['crpsDays', 'CRPS, d', 2],
  ['crpsSkillVs7Day', 'CRPS skill, 7-day balance', 2],
  ['crpsSkillVs24h', 'CRPS skill, 24-h balance', 2],
  ['crpsSkillVsNoSun', 'CRPS skill, no-sun reserve', 2],
  ['crpsRatioToBareBootstrap', 'CRPS to bare bootstrap', 2],
  ['crpsRatioToTrapped', 'CRPS to the trapped chain', 2],
  ['crpsSkillTrapped', 'CRPS skill, the trapped chain', 2],
  ['nonTrivial', 'non-trivial', 0],
  ['crpsNonTrivialDays', 'CRPS non-trivial, d', 2],
  ['cover80NonTrivial', 'cover of 80 %, non-trivial', 3],
  ['reliabilityError', 'reliability error', 3],
  ['cIndexNonTrivial', 'C, non-trivial', 3],
  ['worstSiteBrierSkill', 'worst site, Brier skill', 2],
  ['returns', 'returns', 0],
  ['returnCrpsDays', 'CRPS of return, d', 2],
  ['returnCover80', 'cover of return window', 3],
];

/** The table for people: all together with intervals, then sites and designs in one line each. */
export function printTable(
  result: ScoreTable & {
    readonly hidden: boolean;
    readonly refused: number;
    readonly bySite: Readonly<Record<string, ScoreTable>>;
    readonly byDesign: Readonly<Record<string, ScoreTable>>;
  },
): void {
  console.info(
    result.hidden
      ? '\nPanel scale, capacity and tilt hidden, charge read to 5 %'
      : '\nNameplates true',
  );
  for (const [key, name, digits] of COLUMNS)
    if (!Number.isNaN(result[key].value))
      console.info(`${name.padEnd(30)} ${say(result[key], digits)}`);
  if (result.refused > 0) console.info(`refused for want of data        ${result.refused}`);
  for (const [name, table] of [
    ...Object.entries(result.bySite),
    ...Object.entries(result.byDesign),
  ])
    console.info(`${name.padEnd(36)} ${inShort(table)}`);
}

const say = ({ value, low, high }: Interval, digits: number): string =>
  `${value.toFixed(digits).padStart(8)}   (${low.toFixed(digits)} … ${high.toFixed(digits)})`;

const inShort = (table: ScoreTable): string =>
  [
    `n ${table.forecasts.value}`,
    `dark ${table.darkRate.value.toFixed(3)}`,
    `BSS ${table.brierSkillVsBaseRate.value.toFixed(2)} / ${table.brierSkillVs7Day.value.toFixed(2)}`,
    `CRPSS ${table.crpsSkillVs7Day.value.toFixed(2)}`,
    `to bare ${table.crpsRatioToBareBootstrap.value.toFixed(2)}`,
    ...(Number.isNaN(table.crpsRatioToTrapped.value)
      ? []
      : [`to trapped ${table.crpsRatioToTrapped.value.toFixed(2)}`]),
    `open ${table.crpsNonTrivialDays.value.toFixed(2)} d`,
    `cover ${table.cover80NonTrivial.value.toFixed(2)}`,
    `C ${table.cIndexNonTrivial.value.toFixed(2)}`,
    `back ${table.returnCrpsDays.value.toFixed(2)} d ${table.returnCover80.value.toFixed(2)}`,
  ].join(' | ');
