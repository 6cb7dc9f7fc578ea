import {
  causeOf,
  type Alert,
  type AlertChange,
  type NodeEvent,
  type RuleMemory,
} from '@duskline/domain';
import { advanceRule, type RuleStep } from './advance-rule.ts';
import { isOneCause } from './one-cause.ts';
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
 * that opens while another of its cause is open joins it: one cause, one call.
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
  for (const { rule, step } of oneOpeningACause(steps, facts, before)) {
    if (step.change !== undefined)
      changes.push(joined(step.change, rule, { facts, open: before.open }));
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
 * there is one to join. Their delays are over and stay so. A danger to people waits for nothing.
 */
function oneOpeningACause(
  steps: readonly Taken[],
  facts: RuleFacts,
  before: { readonly memory: readonly RuleMemory[] },
): readonly Taken[] {
  const opening = steps
    .filter(({ step }) => step.change?.kind === 'open')
    .sort((a, b) => urgency(a).localeCompare(urgency(b)));
  const first: Taken[] = [];
  for (const taken of opening)
    if (
      urgency(taken) === 'P1' ||
      !first.some(({ rule }) => isOneCause(rule.key, taken.rule.key, facts))
    )
      first.push(taken);
  return steps.map((taken) => {
    const { rule, step } = taken;
    if (step.change?.kind !== 'open' || first.includes(taken)) return taken;
    const known = before.memory.find((entry) => entry.rule === rule.key);
    const memory = known ?? { rule: rule.key, holdingSinceMs: facts.nowMs, runs: 1 };
    return { rule, step: { memory } };
  });
}

const urgency = ({ step }: Taken): string =>
  step.change?.kind === 'open' ? step.change.priority : 'P9';

/**
 * What opens for a cause that is known joins the alert that began it, and calls nobody: unless that could wait for the
 * morning letter (P3), nobody has taken it, and this cannot wait. Then it is the first call of its cause.
 */
function joined(
  change: AlertChange,
  rule: Rule,
  { facts, open }: { readonly facts: RuleFacts; readonly open: readonly Alert[] },
): AlertChange {
  if (change.kind !== 'open') return change;
  const first = open.find((alert) => isOneCause(alert.rule, rule.key, facts));
  if (first === undefined) return change;
  const joins = causeOf(first);
  const known = open.filter((alert) => causeOf(alert) === joins);
  const isFirstCall =
    change.priority !== 'P3' &&
    known.every(({ state, priority }) => state === 'new' && priority === 'P3');
  return { ...change, joins, ...(isFirstCall ? { callsAllTheSame: true } : {}) };
}
