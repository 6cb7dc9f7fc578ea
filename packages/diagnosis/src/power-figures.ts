import type { PowerFigures } from '@duskline/domain';
import type { PowerSeen } from './seen-of-power.ts';

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
