import type { Alert, AlertChange, RuleMemory } from '@duskline/domain';
import type { Delay, Rule, RuleFacts, RuleFinding } from './rule.ts';

export interface RuleRun {
  readonly changes: readonly AlertChange[];
  readonly memory: readonly RuleMemory[];
}

/**
 * Runs every rule on one node and says what changes: open, update, end.
 *
 * A condition opens an alert once it has held for the rule's on-delay, and an alert ends once the clear condition has held
 * for its off-delay; between the two limits nothing moves (deadband). `memory` carries both clocks over a restart.
 * Method: OnDelay, OffDelay and deadband of IEC 62541-9 / OPC 10000-9, 5.8.
 */
export function evaluateRules(
  rules: readonly Rule[],
  facts: RuleFacts,
  before: { readonly open: readonly Alert[]; readonly memory: readonly RuleMemory[] },
): RuleRun {
  const changes: AlertChange[] = [];
  const memory: RuleMemory[] = [];
  for (const rule of rules) {
    const open = before.open.find((alert) => alert.rule === rule.key);
    const known = before.memory.find((entry) => entry.rule === rule.key) ?? { rule: rule.key };
    const step = advanceRule(rule, facts, { open, known });
    if (step.change !== undefined) changes.push(step.change);
    if (step.memory !== undefined) memory.push(step.memory);
  }
  return { changes, memory };
}

interface RuleStep {
  readonly change?: AlertChange;
  /** Undefined: nothing to remember. */
  readonly memory?: RuleMemory;
}

function advanceRule(
  rule: Rule,
  facts: RuleFacts,
  { open, known }: { readonly open: Alert | undefined; readonly known: RuleMemory },
): RuleStep {
  const finding = rule.evaluate(facts);
  switch (finding.kind) {
    case 'holds':
      return open === undefined
        ? waitToOpen(rule, finding, known, facts.nowMs)
        : keepOpen(finding, open);
    case 'clear':
      return open === undefined
        ? {}
        : waitToEnd(rule, open, finding.why, { known, nowMs: facts.nowMs });
    case 'quiet':
      return open === undefined ? {} : { change: { kind: 'end', id: open.id, why: finding.why } };
    case 'undecided':
      return known.holdingSinceMs === undefined && known.clearSinceMs === undefined
        ? {}
        : { memory: known };
  }
}

type Holding = Extract<RuleFinding, { kind: 'holds' }>;

function waitToOpen(rule: Rule, finding: Holding, known: RuleMemory, nowMs: number): RuleStep {
  const sinceMs = known.holdingSinceMs ?? nowMs;
  const runs = known.holdingSinceMs === undefined ? 1 : (known.runs ?? 0) + 1;
  if (!isOver(rule.onDelay, nowMs - sinceMs, runs))
    return { memory: { rule: rule.key, holdingSinceMs: sinceMs, runs } };
  return {
    change: {
      kind: 'open',
      rule: rule.key,
      priority: finding.priority,
      text: finding.text,
      why: finding.text.figures,
    },
  };
}

/** An open alert whose words changed is brought up to date; the clear clock starts anew. */
function keepOpen(finding: Holding, open: Alert): RuleStep {
  const same =
    open.priority === finding.priority &&
    open.text.sentence === finding.text.sentence &&
    open.text.figures === finding.text.figures &&
    open.text.byWhen === finding.text.byWhen;
  if (same) return {};
  return {
    change: {
      kind: 'update',
      id: open.id,
      priority: finding.priority,
      text: finding.text,
      why: finding.text.figures,
    },
  };
}

function waitToEnd(
  rule: Rule,
  open: Alert,
  why: string,
  { known, nowMs }: { readonly known: RuleMemory; readonly nowMs: number },
): RuleStep {
  const sinceMs = known.clearSinceMs ?? nowMs;
  const runs = known.clearSinceMs === undefined ? 1 : (known.runs ?? 0) + 1;
  if (!isOver(rule.offDelay, nowMs - sinceMs, runs))
    return { memory: { rule: rule.key, clearSinceMs: sinceMs, runs } };
  return { change: { kind: 'end', id: open.id, why } };
}

const isOver = (delay: Delay, elapsedMs: number, runs: number): boolean =>
  elapsedMs >= delay.ms && runs >= delay.runs;
