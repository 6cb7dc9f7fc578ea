import type { Alert, AlertChange, RuleKey, RuleMemory } from '@duskline/domain';
import type { Delay, RuleFinding } from './rule.ts';

/** What one rule, about one thing, changes and remembers after one look. */
export interface RuleStep {
  readonly change?: AlertChange;
  /** Undefined: nothing to remember. */
  readonly memory?: RuleMemory;
  /** The condition of a recorded event began. */
  readonly recorded?: Extract<RuleFinding, { kind: 'record' }>;
}

export interface Look {
  readonly rule: RuleKey;
  readonly subject?: string;
  readonly nowMs: number;
  readonly delays: { readonly on: Delay; readonly off: Delay };
  readonly open: Alert | undefined;
  readonly known: RuleMemory | undefined;
  readonly evidenceAtMs?: number | undefined;
}

/**
 * Counts one look at a condition: opens after the on-delay, ends after the off-delay, brings an open alert up to date;
 * between the two limits nothing moves.
 *
 * @source OnDelay, OffDelay and deadband of IEC 62541-9 / OPC 10000-9, 5.8
 */
export function advanceRule(finding: RuleFinding, look: Look): RuleStep {
  const { open } = look;
  switch (finding.kind) {
    case 'holds':
      return open === undefined ? waitToOpen(finding, look) : keepOpen(finding, open);
    case 'record':
      return record(finding, look);
    case 'clear':
      return open === undefined ? {} : waitToEnd(open, finding.why, look);
    case 'quiet':
      return open === undefined ? {} : { change: { kind: 'end', id: open.id, why: finding.why } };
    case 'undecided':
      // Neither condition holds: whichever clock was running starts anew; a recorded condition is still remembered.
      return look.known?.recordedAtMs === undefined ? {} : { memory: look.known };
  }
}

type Holding = Extract<RuleFinding, { kind: 'holds' }>;

/** This look, counted on top of what the rule remembers of the same condition. */
function counted(
  look: Look,
  clock: 'holdingSinceMs' | 'clearSinceMs',
): Required<Pick<RuleMemory, 'runs'>> & RuleMemory {
  const { known, nowMs, evidenceAtMs } = look;
  const evidence = evidenceAtMs === undefined ? {} : { evidenceAtMs };
  const named = {
    rule: look.rule,
    ...(look.subject === undefined ? {} : { subject: look.subject }),
  };
  const sinceMs = known?.[clock];
  if (sinceMs === undefined) return { ...named, [clock]: nowMs, runs: 1, ...evidence };
  const seenBefore = evidenceAtMs !== undefined && evidenceAtMs === known?.evidenceAtMs;
  const runs = (known?.runs ?? 1) + (seenBefore ? 0 : 1);
  return { ...named, [clock]: sinceMs, runs, ...evidence };
}

function waitToOpen(finding: Holding, look: Look): RuleStep {
  const memory = counted(look, 'holdingSinceMs');
  if (!isOver(look.delays.on, look.nowMs - (memory.holdingSinceMs ?? look.nowMs), memory.runs))
    return { memory };
  return {
    change: {
      kind: 'open',
      rule: look.rule,
      priority: finding.priority,
      text: finding.text,
      why: finding.text.figures,
      ...(look.subject === undefined ? {} : { subject: look.subject }),
    },
  };
}

/** An event is recorded once for as long as its condition holds. */
function record(finding: Extract<RuleFinding, { kind: 'record' }>, look: Look): RuleStep {
  if (look.known?.recordedAtMs !== undefined) return { memory: look.known };
  const memory = counted(look, 'holdingSinceMs');
  if (!isOver(look.delays.on, look.nowMs - (memory.holdingSinceMs ?? look.nowMs), memory.runs))
    return { memory };
  return { recorded: finding, memory: { ...memory, recordedAtMs: look.nowMs } };
}

/** An open alert whose words changed is brought up to date; the clear clock starts anew. */
function keepOpen(finding: Holding, open: Alert): RuleStep {
  const same =
    open.priority === finding.priority &&
    open.text.sentence === finding.text.sentence &&
    open.text.figures === finding.text.figures &&
    open.text.byWhen === finding.text.byWhen &&
    // A cause that becomes known after the opening changes what to do and to bring, and nothing else.
    open.text.todo === finding.text.todo &&
    open.text.bring === finding.text.bring;
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

function waitToEnd(open: Alert, why: string, look: Look): RuleStep {
  const memory = counted(look, 'clearSinceMs');
  if (isOver(look.delays.off, look.nowMs - (memory.clearSinceMs ?? look.nowMs), memory.runs))
    return { change: { kind: 'end', id: open.id, why } };
  return { memory };
}

const isOver = (delay: Delay, elapsedMs: number, runs: number): boolean =>
  elapsedMs >= delay.ms && runs >= delay.runs;
