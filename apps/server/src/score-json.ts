import type { NodeScoreJson, ScoreJson } from '@duskline/contract';
import { CHANCE_DAYS, SCORED_DAYS, type Interval } from '@duskline/forecast';
import type { ScoreAnswer } from './score-desk.ts';

/** The score in the contract's shape. */
export function scoreJson(
  { score, recalibration }: ScoreAnswer,
  about: {
    readonly nowMs: number;
    readonly fromMs: number;
    readonly of: ScoreJson['of'];
    readonly rows: readonly NodeScoreJson[];
  },
): ScoreJson {
  const { chance, days, back } = score;
  return {
    now: new Date(about.nowMs).toISOString(),
    from: new Date(about.fromMs).toISOString(),
    of: about.of,
    chance: {
      withinDays: CHANCE_DAYS,
      count: chance.count,
      hindcasts: chance.hindcasts,
      events: chance.events,
      baseRate: chance.baseRate,
      brier: intervalJson(chance.brier),
      skillAgainstBaseRate: intervalJson(chance.skill.baseRate),
      skillAgainstLastDay: intervalJson(chance.skill.lastDay),
      skillAgainstLastWeek: intervalJson(chance.skill.lastWeek),
      skillAgainstNoSun: intervalJson(chance.skill.noSun),
      bins: chance.bins.map((bin) => ({
        from: bin.from,
        to: bin.to,
        count: bin.count,
        hindcasts: bin.hindcasts,
        meanChance: bin.meanProbability,
        observedShare: bin.observedShare,
      })),
    },
    days: {
      withinDays: SCORED_DAYS,
      count: days.count,
      hindcasts: days.hindcasts,
      emptied: days.emptied,
      nonTrivial: days.nonTrivial,
      crpsDays: intervalJson(days.crpsDays),
      lastDayCrpsDays: intervalJson(days.baselineCrpsDays.lastDay),
      lastWeekCrpsDays: intervalJson(days.baselineCrpsDays.lastWeek),
      noSunCrpsDays: intervalJson(days.baselineCrpsDays.noSun),
      skillAgainstLastWeek: intervalJson(days.skill.lastWeek),
      cover80: intervalJson(days.cover80),
      tenths: [...days.tenths],
    },
    back: {
      count: back.count,
      crpsDays: intervalJson(back.crpsDays),
      cover80: intervalJson(back.cover80),
    },
    unknown: score.unknown,
    recalibration:
      recalibration === undefined
        ? null
        : {
            fittedAt: new Date(recalibration.fittedAtMs).toISOString(),
            outcomes: recalibration.outcomes,
          },
    nodes: [...about.rows],
  };
}

const intervalJson = (found: Interval | undefined) =>
  found === undefined ? null : { value: found.value, low: found.low, high: found.high };
