import type { Alert, AlertChange, NodeId, RuleKey, RuleMemory } from '@duskline/domain';
import { advanceRule } from './advance-rule.ts';
import type { FleetFacts, FleetFinding, FleetRule } from './fleet-rule.ts';
import { delaysOf, type RuleFinding } from './rule.ts';

export interface FleetRuleRun {
  readonly changes: readonly AlertChange[];
  readonly memory: readonly RuleMemory[];
  /** For each node the fleet's rules that hold for it, from the first look on: its own alerts are quiet meanwhile. */
  readonly covering: ReadonlyMap<NodeId, readonly RuleKey[]>;
}

/**
 * Runs the rules about the fleet. One finding a subject, so that two links may be down at once; what a rule no longer
 * mentions has cleared.
 */
export function evaluateFleetRules(
  rules: readonly FleetRule[],
  facts: FleetFacts,
  before: { readonly open: readonly Alert[]; readonly memory: readonly RuleMemory[] },
): FleetRuleRun {
  const changes: AlertChange[] = [];
  const memory: RuleMemory[] = [];
  const covering = new Map<NodeId, RuleKey[]>();
  for (const rule of rules) {
    const findings = rule.evaluate(facts);
    for (const finding of [...findings, ...forgotten(rule, findings, before.open)]) {
      const alert = before.open.find((one) => isAbout(one, rule, finding.subject));
      const step = advanceRule(asFinding(finding), {
        rule: rule.key,
        subject: finding.subject,
        nowMs: facts.nowMs,
        delays: delaysOf(rule, facts.settings?.[rule.key]),
        open: alert,
        known: before.memory.find((entry) => isAbout(entry, rule, finding.subject)),
      });
      if (step.change !== undefined) changes.push(step.change);
      if (step.memory !== undefined) memory.push(step.memory);
      for (const node of coveredBy(finding, alert !== undefined))
        covering.set(node, [...(covering.get(node) ?? []), rule.key]);
    }
  }
  return { changes, memory, covering };
}

function coveredBy(finding: FleetFinding, isOpen: boolean): readonly NodeId[] {
  if (finding.kind === 'holds') return finding.covers;
  return finding.kind === 'undecided' && isOpen ? (finding.covers ?? []) : [];
}

const isAbout = (
  known: { readonly rule: RuleKey; readonly subject?: string },
  rule: FleetRule,
  subject: string,
): boolean => known.rule === rule.key && (known.subject ?? '') === subject;

/** Open alerts whose subject the rule does not mention any more. */
function forgotten(
  rule: FleetRule,
  findings: readonly FleetFinding[],
  open: readonly Alert[],
): FleetFinding[] {
  return open.flatMap((alert) => {
    const subject = alert.subject ?? '';
    if (alert.rule !== rule.key || findings.some((one) => one.subject === subject)) return [];
    return [{ kind: 'clear' as const, subject, why: 'It no longer holds.' }];
  });
}

function asFinding(finding: FleetFinding): RuleFinding {
  switch (finding.kind) {
    case 'holds':
      return { kind: 'holds', priority: finding.priority, text: finding.text };
    case 'clear':
      return { kind: 'clear', why: finding.why };
    case 'undecided':
      return { kind: 'undecided' };
  }
}
