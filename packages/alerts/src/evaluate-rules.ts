import type { Alert, AlertChange, NodeEvent, RuleMemory } from '@duskline/domain';
import { advanceRule, type RuleStep } from './advance-rule.ts';
import { delaysOf, type Rule, type RuleFacts, type RuleFinding } from './rule.ts';

export interface RuleRun {
  readonly changes: readonly AlertChange[];
  readonly memory: readonly RuleMemory[];
  /** Lines for the logbook. */
  readonly events: readonly NodeEvent[];
}

/**
 * Runs every rule on one node and says what changes: open, update, end, and what is worth a line in the logbook.
 *
 * A condition opens an alert once it has held for the rule's on-delay, and an alert ends once the clear condition has held
 * for its off-delay; between the two limits nothing moves (deadband). `memory` carries both clocks over a restart. An alert
 * that opens while another of its group is open joins it: one cause, one call.
 */
export function evaluateRules(
  rules: readonly Rule[],
  facts: RuleFacts,
  before: { readonly open: readonly Alert[]; readonly memory: readonly RuleMemory[] },
): RuleRun {
  const changes: AlertChange[] = [];
  const memory: RuleMemory[] = [];
  const events: NodeEvent[] = [];
  const steps = rules.map((rule) => {
    const step = advanceRule(findingOf(rule, facts), {
      rule: rule.key,
      nowMs: facts.nowMs,
      delays: delaysOf(rule, facts.settings?.[rule.key]),
      open: before.open.find((alert) => alert.rule === rule.key),
      known: before.memory.find((entry) => entry.rule === rule.key),
      evidenceAtMs: rule.evidenceAtMs?.(facts),
    });
    return { rule, step };
  });
  for (const { rule, step } of oneOpeningAGroup(steps, facts, before)) {
    if (step.change !== undefined)
      changes.push(joined(step.change, rule, { rules, facts, open: before.open }));
    if (step.memory !== undefined) memory.push(step.memory);
    if (step.recorded !== undefined)
      events.push({
        siteId: facts.site.id,
        nodeId: facts.node.id,
        atMs: facts.nowMs,
        kind: step.recorded.event,
        sentence: step.recorded.sentence,
      });
  }
  return { changes, memory, events };
}

/** What holds for every rule comes first: work, a shared cause, a gap somebody accepted. */
function findingOf(rule: Rule, facts: RuleFacts): RuleFinding {
  const { state } = facts.verdict;
  if (!rule.evenOffForWork && (state === 'off-for-work' || state === 'retired'))
    return { kind: 'quiet', why: `The node is ${state.replaceAll('-', ' ')}.` };
  const parent = rule.quietUnder.find((key) => facts.fleetRules?.includes(key) === true);
  if (parent !== undefined)
    return { kind: 'quiet', why: `Explained by "${parent.replaceAll('-', ' ')}".` };
  return rule.evaluate(facts);
}

interface Taken {
  readonly rule: Rule;
  readonly step: RuleStep;
}

/**
 * Of several that would open in one look for one cause only the most urgent does; the others open at the next look, when
 * there is one to join. Their delays are over and stay so.
 */
function oneOpeningAGroup(
  steps: readonly Taken[],
  facts: RuleFacts,
  before: { readonly memory: readonly RuleMemory[] },
): readonly Taken[] {
  const first = new Map<Rule['group'], Taken>();
  const urgency = ({ step }: Taken) => (step.change?.kind === 'open' ? step.change.priority : 'P9');
  for (const taken of steps) {
    if (taken.step.change?.kind !== 'open') continue;
    const known = first.get(taken.rule.group);
    if (known === undefined || urgency(taken) < urgency(known)) first.set(taken.rule.group, taken);
  }
  return steps.map((taken) => {
    const { rule, step } = taken;
    if (step.change?.kind !== 'open' || first.get(rule.group) === taken) return taken;
    const known = before.memory.find((entry) => entry.rule === rule.key);
    const memory = known ?? { rule: rule.key, holdingSinceMs: facts.nowMs, runs: 1 };
    return { rule, step: { memory } };
  });
}

function joined(
  change: AlertChange,
  rule: Rule,
  {
    rules,
    facts,
    open,
  }: {
    readonly rules: readonly Rule[];
    readonly facts: RuleFacts;
    readonly open: readonly Alert[];
  },
): AlertChange {
  if (change.kind !== 'open') return change;
  const follows = rule.follows?.(facts) ?? [];
  const first = open.find(
    (alert) =>
      rules.find(({ key }) => key === alert.rule)?.group === rule.group ||
      follows.includes(alert.rule),
  );
  return first === undefined ? change : { ...change, joins: first.joins ?? first.id };
}
