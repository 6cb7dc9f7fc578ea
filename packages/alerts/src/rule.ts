import type {
  AlertText,
  ChargeEstimate,
  FieldNode,
  Outlook,
  Priority,
  RuleKey,
  Site,
  StateVerdict,
} from '@duskline/domain';

/** What the rules look at, for one node at one moment. */
export interface RuleFacts {
  readonly nowMs: number;
  readonly site: Site;
  readonly node: FieldNode;
  readonly verdict: StateVerdict;
  readonly charge?: ChargeEstimate;
  readonly outlook?: Outlook;
  readonly lastHeardAtMs?: number;
}

/** What one rule finds. */
export type RuleFinding =
  /** Somebody should act. */
  | { readonly kind: 'holds'; readonly priority: Priority; readonly text: AlertText }
  /** Back past the deadband: over, once it has stayed so. */
  | { readonly kind: 'clear'; readonly why: string }
  /** Between the two limits, or nothing fresh to judge by: an open alert stays, none is raised. */
  | { readonly kind: 'undecided' }
  /** Nobody could act on it now, by design: an open alert ends at once. */
  | { readonly kind: 'quiet'; readonly why: string };

/** One rule of the rationalisation table: condition, deadband, delays. One file in rules/, one line in rules/index.ts. */
export interface Rule {
  readonly key: RuleKey;
  readonly name: string;
  /** How long, and in how many runs, the condition must hold before anybody is told. */
  readonly onDelay: Delay;
  /** How long, and in how many runs, the clear condition must hold before the alert ends. */
  readonly offDelay: Delay;
  readonly evaluate: (facts: RuleFacts) => RuleFinding;
  /** When what it judges by was made; a second look at the same evidence is no second run. Default: every look is one. */
  readonly evidenceAtMs?: (facts: RuleFacts) => number | undefined;
}

export interface Delay {
  readonly ms: number;
  readonly runs: number;
}
