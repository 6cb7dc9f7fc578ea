import type { AccountId, AlertId, NodeId, SiteId } from './ids.ts';

/** P1 act now, day or night; P2 act today; P3 plan within the week. */
export const priorities = ['P1', 'P2', 'P3'] as const;
export type Priority = (typeof priorities)[number];

/** After ISA-18.2 / IEC 62682, in our words. `ended` = over and seen. */
export const alertStates = [
  'new',
  'taken',
  'ended-unseen',
  'paused',
  'quiet-by-design',
  'ended',
] as const;
export type AlertState = (typeof alertStates)[number];

/** Key of a rule: the name of its file in packages/alerts/src/rules. */
export type RuleKey = string;

/** What a person reads: everything that is needed to act, nothing that is not. */
export interface AlertText {
  /** "Rushy Sluice will likely stop between Fri morning and Sun evening." */
  readonly sentence: string;
  /** The figures behind it. */
  readonly figures: string;
  readonly byWhen: string;
  readonly todo: string;
  readonly bring: string;
  readonly cautions: readonly string[];
}

export interface Alert {
  readonly id: AlertId;
  readonly nodeId: NodeId;
  readonly siteId: SiteId;
  readonly rule: RuleKey;
  readonly priority: Priority;
  readonly state: AlertState;
  readonly openedAtMs: number;
  readonly takenAtMs?: number;
  /** Name of the person who has it. */
  readonly takenBy?: string;
  readonly endedAtMs?: number;
  readonly text: AlertText;
  /** What of the node or the fleet it is about, where a rule can hold for several things at once, e.g. a link's name. */
  readonly subject?: string;
  /** Whoever took it looks after it until then. */
  readonly takenUntilMs?: number;
  /** Paused by a person: never without an end. */
  readonly paused?: { readonly by: string; readonly untilMs: number; readonly why: string };
  /** Name of the person it was handed to, who has not taken it yet. */
  readonly handedTo?: string;
  /** How it was handed on, in a sentence: to whom, by whom, and what they were told. */
  readonly handedSays?: string;
  /** The alert of the same cause that was open before: nobody is called a second time for it. */
  readonly joins?: AlertId;
}

/** What a person does to an alert. */
export type AlertStep =
  | { readonly kind: 'take'; readonly untilMs?: number }
  | {
      readonly kind: 'hand-over';
      readonly to: { readonly id: AccountId; readonly name: string };
      /** What whoever takes it next should know. */
      readonly note?: string;
    }
  | { readonly kind: 'pause'; readonly untilMs: number; readonly why: string }
  | { readonly kind: 'resume' }
  | { readonly kind: 'note'; readonly text: string }
  | { readonly kind: 'seen' };

/** Nobody pauses an alert for longer than this. */
export const LONGEST_PAUSE_DAYS = 30;

/** The number under which alerts about the fleet as a whole are kept. */
export const FLEET_NUMBER = 0 as NodeId;

/** Is it about the fleet, and not about one node? */
export const isAboutFleet = (alert: Pick<Alert, 'nodeId'>): boolean =>
  alert.nodeId === FLEET_NUMBER;

/** What a run of the rules asks the store to do, for one node. */
export type AlertChange =
  | {
      readonly kind: 'open';
      readonly rule: RuleKey;
      readonly priority: Priority;
      readonly text: AlertText;
      readonly why: string;
      readonly subject?: string;
      readonly joins?: AlertId;
      /** It joins what could wait for the morning letter, and cannot wait itself: it is the first call of its cause. */
      readonly callsAllTheSame?: true;
    }
  | {
      readonly kind: 'update';
      readonly id: AlertId;
      readonly priority: Priority;
      readonly text: AlertText;
      readonly why: string;
    }
  /** The condition is over: a taken alert becomes `ended`, one nobody took `ended-unseen`. */
  | { readonly kind: 'end'; readonly id: AlertId; readonly why: string };

/** What a rule must remember between two runs so that delays and deadbands survive a restart. */
export interface RuleMemory {
  readonly rule: RuleKey;
  readonly subject?: string;
  /** The condition has held since. */
  readonly holdingSinceMs?: number;
  /** The clear condition has held since. */
  readonly clearSinceMs?: number;
  /** Runs in a row in which that condition has held. */
  readonly runs?: number;
  /** When the evidence of the last run was made: the same evidence is not counted twice. */
  readonly evidenceAtMs?: number;
  /** A recorded condition still holds since it was written down. */
  readonly recordedAtMs?: number;
}

/** Values of a rule's settings that differ from their defaults, by rule and setting. */
export type RuleSettings = Readonly<Record<RuleKey, Readonly<Record<string, number>>>>;
