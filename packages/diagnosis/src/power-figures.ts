import type { PowerSeen } from './seen-of-power.ts';

/** What the alert rules ask of the last weeks of power; shares: 1 = as ever. */
export interface PowerFigures {
  /** Of the last three days: enough was offered, the battery could take it, and nearly nothing came; and days on which it came. */
  readonly badDays: number;
  readonly goodDays: number;
  readonly yieldChange?: number;
  readonly yieldAgainstBest?: number;
  /** Days of the last 14 whose yield could be judged. */
  readonly yieldDays: number;
  readonly loadChange?: number;
  readonly recentLoadW?: number;
  readonly usualLoadW?: number;
  readonly capacityShare?: number;
  readonly capacityCycles?: number;
  readonly resistanceShare?: number;
  readonly boxRhDayMeanPercent?: number;
}

/** The others had at least this share of a cloudless day (row 10 of the rationalisation table: 30 %). */
const OFFERED = 0.3;
/** Less than this share of what the others had is nothing, more than that is something (row 10: 10 %). */
const NOTHING = 0.1;
const SOMETHING = 0.3;
/** Without other sites to compare with even a dark day brings a twentieth of a cloudless one (common practice, no source). */
const NOTHING_ALONE = 0.02;

/** Sums up the signs of the last days in the figures by which alerts are raised. */
export function powerFigures(seen: PowerSeen): PowerFigures {
  const { days } = seen;
  const last = days.slice(-3);
  const isOffered = (yieldIndex: number, relative: number | undefined) =>
    relative === undefined || relative <= 0 || yieldIndex / relative >= OFFERED;
  const judged = last.flatMap(({ yieldIndex, relativeYield }) =>
    yieldIndex === undefined ? [] : [{ yieldIndex, relativeYield }],
  );
  const isBad = judged.map(({ yieldIndex, relativeYield }) =>
    relativeYield === undefined
      ? yieldIndex < NOTHING_ALONE
      : relativeYield < NOTHING && isOffered(yieldIndex, relativeYield),
  );
  const isGood = judged.map(
    ({ yieldIndex, relativeYield }) => (relativeYield ?? yieldIndex) > SOMETHING,
  );
  const damp = days.at(-1)?.meanBoxRhPercent;
  return {
    badDays: isBad.filter(Boolean).length,
    goodDays: isGood.filter(Boolean).length,
    yieldDays: days.slice(-14).filter(({ yieldIndex }) => yieldIndex !== undefined).length,
    ...pick(seen, 'yieldChange'),
    ...pick(seen, 'yieldAgainstBest'),
    ...pick(seen, 'loadChange'),
    ...pick(seen, 'recentLoadW'),
    ...pick(seen, 'usualLoadW'),
    ...pick(seen, 'capacityShare'),
    ...pick(seen, 'resistanceShare'),
    ...(damp === undefined ? {} : { boxRhDayMeanPercent: damp }),
  };
}

function pick<K extends keyof PowerSeen>(
  seen: PowerSeen,
  key: K,
): { readonly [P in K]?: NonNullable<PowerSeen[K]> } {
  const value = seen[key];
  return value === undefined
    ? {}
    : ({ [key]: value } as { readonly [P in K]?: NonNullable<PowerSeen[K]> });
}
