export { alertHealth, type HealthFacts, type HealthFigure } from './alert-health.ts';
export { darkProbabilityWithin } from './dark-probability.ts';
export { evaluateFleetRules, type FleetRuleRun } from './evaluate-fleet-rules.ts';
export { evaluateRules, type RuleRun } from './evaluate-rules.ts';
export type { FleetFacts, FleetFinding, FleetNode, FleetRule } from './fleet-rule.ts';
export { fleetRules } from './fleet-rules/index.ts';
export * from './rota/index.ts';
export * from './rounds/index.ts';
export { rules } from './rules/index.ts';
export {
  type Delay,
  delaySettings,
  delaysOf,
  type Rule,
  type RuleFinding,
  type RuleSetting,
  valuesOf,
} from './rule.ts';
export type { HousekeepingFigures, RuleFacts } from './rule-facts.ts';
