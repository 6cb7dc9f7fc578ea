export { darkProbabilityWithin } from './dark-probability.ts';
export { evaluateRules, type RuleRun } from './evaluate-rules.ts';
export { rules } from './rules/index.ts';
export type { Delay, Rule, RuleFacts, RuleFinding } from './rule.ts';
