import type { ScoreJson } from '@duskline/contract';
import { percent } from '../format/quantity.ts';
import { scoreText } from '../text/score.ts';

type Bins = ScoreJson['chance']['bins'];

/** How far what was said lay from what came, over all bins by their number; undefined without outlooks. */
export function reliabilityError(bins: Bins): number | undefined {
  const count = bins.reduce((sum, bin) => sum + bin.count, 0);
  if (count === 0) return undefined;
  return bins.reduce(
    (sum, bin) => sum + (bin.count / count) * Math.abs(bin.meanChance - bin.observedShare),
    0,
  );
}

/** The score of the fleet in one sentence. */
export function scoreSentence({ chance }: ScoreJson): string {
  if (chance.count === 0) return scoreText.none;
  const said = chance.bins.reduce((sum, bin) => sum + bin.count * bin.meanChance, 0) / chance.count;
  return `${scoreText.dark(percent(said), percent(chance.events / chance.count))}: ${scoreText.of(chance.count, chance.hindcasts)}.`;
}

export interface RuleError {
  readonly name: string;
  readonly isOurs: boolean;
  readonly value: number;
  readonly low: number;
  readonly high: number;
}

/** The error of the outlooks and of each plain rule, ours first; those that cannot be told are left out. */
export function ruleErrors({ days }: ScoreJson): readonly RuleError[] {
  const { rules } = scoreText;
  const all = [
    [rules.outlook, days.crpsDays],
    [rules.lastWeek, days.lastWeekCrpsDays],
    [rules.lastDay, days.lastDayCrpsDays],
    [rules.noSun, days.noSunCrpsDays],
  ] as const;
  return all.flatMap(([name, found], i) =>
    found === null ? [] : [{ name, isOurs: i === 0, ...found }],
  );
}
