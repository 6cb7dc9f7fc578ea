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
        ? waitToOpen(rule, finding, countRun(rule, facts, known, 'holdingSinceMs'), facts.nowMs)
        : keepOpen(finding, open);
    case 'clear':
      return open === undefined
        ? {}
        : waitToEnd(rule, open, finding.why, {
            run: countRun(rule, facts, known, 'clearSinceMs'),
            nowMs: facts.nowMs,
          });
    case 'quiet':
      return open === undefined ? {} : { change: { kind: 'end', id: open.id, why: finding.why } };
    case 'undecided':
      // Neither condition holds: whichever clock was running starts anew.
      return {};
  }
}

type Holding = Extract<RuleFinding, { kind: 'holds' }>;

interface Run {
  readonly sinceMs: number;
  readonly runs: number;
  readonly evidenceAtMs?: number;
}

/** This look at the node, counted on top of what the rule remembers of the same condition. */
function countRun(
  rule: Rule,
  facts: RuleFacts,
  known: RuleMemory,
  clock: 'holdingSinceMs' | 'clearSinceMs',
): Run {
  const evidenceAtMs = rule.evidenceAtMs?.(facts);
  const evidence = evidenceAtMs === undefined ? {} : { evidenceAtMs };
  const sinceMs = known[clock];
  if (sinceMs === undefined) return { sinceMs: facts.nowMs, runs: 1, ...evidence };
  const seenBefore = evidenceAtMs !== undefined && evidenceAtMs === known.evidenceAtMs;
  return { sinceMs, runs: (known.runs ?? 1) + (seenBefore ? 0 : 1), ...evidence };
}

function waitToOpen(rule: Rule, finding: Holding, run: Run, nowMs: number): RuleStep {
  if (!isOver(rule.onDelay, nowMs - run.sinceMs, run.runs)) {
    const { sinceMs, ...counted } = run;
    return { memory: { rule: rule.key, holdingSinceMs: sinceMs, ...counted } };
  }
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
  { run, nowMs }: { readonly run: Run; readonly nowMs: number },
): RuleStep {
  if (isOver(rule.offDelay, nowMs - run.sinceMs, run.runs))
    return { change: { kind: 'end', id: open.id, why } };
  const { sinceMs, ...counted } = run;
  return { memory: { rule: rule.key, clearSinceMs: sinceMs, ...counted } };
}

const isOver = (delay: Delay, elapsedMs: number, runs: number): boolean =>
  elapsedMs >= delay.ms && runs >= delay.runs;
