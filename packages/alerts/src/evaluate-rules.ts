import type { Alert, AlertChange, NodeEvent, RuleMemory } from '@duskline/domain';
import { advanceRule } from './advance-rule.ts';
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
  for (const rule of rules) {
    const step = advanceRule(findingOf(rule, facts), {
      rule: rule.key,
      nowMs: facts.nowMs,
      delays: delaysOf(rule, facts.settings?.[rule.key]),
      open: before.open.find((alert) => alert.rule === rule.key),
      known: before.memory.find((entry) => entry.rule === rule.key),
      evidenceAtMs: rule.evidenceAtMs?.(facts),
    });
    if (step.change !== undefined)
      changes.push(joined(step.change, rule, { rules, open: before.open }));
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

function joined(
  change: AlertChange,
  rule: Rule,
  { rules, open }: { readonly rules: readonly Rule[]; readonly open: readonly Alert[] },
): AlertChange {
  if (change.kind !== 'open') return change;
  const first = open.find(
    (alert) => rules.find(({ key }) => key === alert.rule)?.group === rule.group,
  );
  return first === undefined ? change : { ...change, joins: first.joins ?? first.id };
}
