import type {
  Account,
  Alert,
  AlertChange,
  AlertId,
  AlertStep,
  NodeId,
  RuleMemory,
} from '@duskline/domain';

/** One step in the life of an alert. */
export interface AlertHistoryEntry {
  readonly atMs: number;
  readonly kind: AlertChange['kind'] | AlertStep['kind'] | 'pause-over';
  readonly state: Alert['state'];
  readonly priority: Alert['priority'];
  /** Undefined: the rules did it. */
  readonly by?: string;
  readonly why: string;
}

/** What became of a person's step. */
export type StepOutcome =
  | { readonly kind: 'done'; readonly alert: Alert }
  /** The alert is in a state from which that step does not start; it stays as it is. */
  | { readonly kind: 'not-now'; readonly alert: Alert; readonly why: string }
  | { readonly kind: 'no-such-alert' };

export interface AlertStore {
  /** Of one node (or of the fleet, `FLEET_NUMBER`), condition not over. */
  open(nodeId: NodeId): Promise<readonly Alert[]>;
  /** Of all nodes: not over, or over and not yet seen by anybody. The most urgent first, then the oldest. */
  listOpen(): Promise<readonly Alert[]>;
  find(id: AlertId): Promise<Alert | undefined>;
  /** Opened or ended in [fromMs, toMs), oldest first. */
  between(fromMs: number, toMs: number): Promise<readonly Alert[]>;
  memory(nodeId: NodeId): Promise<readonly RuleMemory[]>;
  /** A person's step, with its history and the word to the pages in one statement. */
  step(id: AlertId, step: AlertStep, by: Account, nowMs: number): Promise<StepOutcome>;
  /** A new alert becomes taken; any other stays as it is. @returns undefined when there is no such alert */
  take(id: AlertId, by: Account, nowMs: number): Promise<Alert | undefined>;
  /** An alert ended and unseen becomes ended; any other stays as it is. */
  seen(id: AlertId, by: Account, nowMs: number): Promise<Alert | undefined>;
  /** Pauses whose end has come are over: those alerts are new again and somebody is told. @returns how many */
  endPauses(nowMs: number): Promise<number>;
  /** Oldest first. */
  history(id: AlertId): Promise<readonly AlertHistoryEntry[]>;
}
