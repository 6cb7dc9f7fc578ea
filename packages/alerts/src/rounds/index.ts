export { dataDaysSaved, SAVED_WITHIN_DAYS } from './data-days-saved.ts';
export { fieldCautions, type FieldCaution } from './field-cautions.ts';
export { greatCircleKm, type Place } from './great-circle.ts';
export { judgeVisit, type VisitEvidence, type YieldsByDay } from './judge-visit.ts';
export { orderStops, wayKm } from './order-stops.ts';
export {
  EVERY_VISIT,
  planFieldWork,
  type FieldStep,
  type FieldWork,
  type FieldWorkFacts,
} from './plan-field-work.ts';
export {
  asksForVisit,
  isToActOn,
  SAFE_CHANCE,
  siteNeed,
  type SiteNeed,
  type SiteNeedFacts,
} from './site-need.ts';
export { visitPurpose } from './visit-purpose.ts';
export {
  roundOf,
  suggestRounds,
  tripHours,
  USUAL_TRAVEL,
  type RoundStop,
  type SuggestedRound,
  type Travel,
} from './suggest-rounds.ts';
