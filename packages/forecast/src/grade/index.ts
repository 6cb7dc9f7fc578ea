/** Grading outlooks by what came of them: the way from a kept outlook to the score of a fleet. */
export {
  fleetRecalibration,
  fleetScore,
  type FleetScore,
  type ScoredOutlook,
  type SkillAgainst,
} from './fleet-score.ts';
export {
  CHANCE_DAYS,
  type GradeFigures,
  gradeOutlook,
  type OutlookGrade,
  SCORED_DAYS,
  type ToGrade,
} from './grade-outlook.ts';
export { type OutcomeWatch, watchOutcome } from './outcome-watch.ts';
export { type BaselineDays, baselinesOf, fewDays, reserveOf } from './score-seed.ts';
