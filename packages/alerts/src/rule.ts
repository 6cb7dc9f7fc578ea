import type { AlertText, EventKind, Priority, RuleKey } from '@duskline/domain';
import type { RuleFacts } from './rule-facts.ts';

export type { RuleFacts } from './rule-facts.ts';

/** What one rule finds. */
export type RuleFinding =
  /** Somebody should act. */
  | { readonly kind: 'holds'; readonly priority: Priority; readonly text: AlertText }
  /** Worth a line in the logbook, once; nobody must act. */
  | { readonly kind: 'record'; readonly event: EventKind; readonly sentence: string }
  /** Back past the deadband: over, once it has stayed so. */
  | { readonly kind: 'clear'; readonly why: string }
  /** Between the two limits, or nothing fresh to judge by: an open alert stays, none is raised. */
  | { readonly kind: 'undecided' }
  /** Nobody could act on it now, by design: an open alert ends at once. */
  | { readonly kind: 'quiet'; readonly why: string };

export interface Delay {
  readonly ms: number;
  readonly runs: number;
}

/** One value of a rule that a coordinator may change, for the fleet, a site or a node. */
export interface RuleSetting {
  readonly default: number;
  readonly unit: string;
  readonly low: number;
  readonly high: number;
  readonly says: string;
}

/**
 * One rule of the rationalisation table: condition, deadband, delays. One file in rules/, one line in
 * rules/index.ts, and its place among the causes in one-cause.ts.
 */
export interface Rule {
  readonly key: RuleKey;
  readonly name: string;
  /** Why it matters, who acts and how fast: shown on the rules page. */
  readonly why: string;
  readonly who: string;
  readonly settings: Readonly<Record<string, RuleSetting>>;
  /** How long, and in how many runs, the condition must hold before anybody is told. */
  readonly onDelay: Delay;
  /** How long, and in how many runs, the clear condition must hold before the alert ends. */
  readonly offDelay: Delay;
  /** Rules of the fleet which, while they hold for this node, explain it. */
  readonly quietUnder: readonly RuleKey[];
  /** A danger to people is told even while the site is off for work. */
  readonly evenOffForWork: boolean;
  readonly evaluate: (facts: RuleFacts) => RuleFinding;
  /** When what it judges by was made; a second look at the same evidence is no second run. Default: every look is one. */
  readonly evidenceAtMs?: (facts: RuleFacts) => number | undefined;
}

type Values<S> = { readonly [K in keyof S]: number };

/** A rule whose `evaluate` is handed its settings as plain numbers, defaults filled in. */
export function defineRule<const S extends Readonly<Record<string, RuleSetting>>>(
  rule: Omit<Rule, 'settings' | 'evaluate' | 'quietUnder' | 'evenOffForWork'> & {
    readonly settings: S;
    readonly quietUnder?: readonly RuleKey[];
    readonly evenOffForWork?: boolean;
    readonly evaluate: (facts: RuleFacts, values: Values<S>) => RuleFinding;
  },
): Rule {
  return {
    quietUnder: [],
    evenOffForWork: false,
    ...rule,
    evaluate: (facts) =>
      rule.evaluate(facts, valuesOf(rule.settings, facts.settings?.[rule.key] ?? {}) as Values<S>),
  };
}

/** Defaults, with what was set in their place; what is set outside its limits is drawn to the nearer one. */
export function valuesOf(
  settings: Readonly<Record<string, RuleSetting>>,
  set: Readonly<Record<string, number>>,
): Record<string, number> {
  return Object.fromEntries(
    Object.entries(settings).map(([key, { default: value, low, high }]) => {
      const given = set[key];
      return [key, given === undefined ? value : Math.min(high, Math.max(low, given))];
    }),
  );
}

/** Delays as changed by the settings `onDelayMinutes`, `onRuns`, `offDelayMinutes`, `offRuns`, which every rule has. */
export function delaysOf(
  rule: Pick<Rule, 'onDelay' | 'offDelay'>,
  set: Readonly<Record<string, number>> = {},
): { readonly on: Delay; readonly off: Delay } {
  const delay = (own: Delay, minutes: number | undefined, runs: number | undefined): Delay => ({
    ms: minutes === undefined ? own.ms : Math.max(0, minutes) * 60_000,
    runs: runs === undefined ? own.runs : Math.max(1, Math.round(runs)),
  });
  return {
    on: delay(rule.onDelay, set['onDelayMinutes'], set['onRuns']),
    off: delay(rule.offDelay, set['offDelayMinutes'], set['offRuns']),
  };
}

/** The delays of a rule as settings of their own, with the rule's own delays for defaults. */
export function delaySettings({
  onDelay,
  offDelay,
}: Pick<Rule, 'onDelay' | 'offDelay'>): Readonly<Record<string, RuleSetting>> {
  const month = [0, 43_200] as const;
  const runs = [1, 100] as const;
  return {
    onDelayMinutes: setting(
      onDelay.ms / 60_000,
      'min',
      month,
      'it must hold for, before anybody is told',
    ),
    onRuns: setting(onDelay.runs, 'looks', runs, 'looks in a row that must find it'),
    offDelayMinutes: setting(
      offDelay.ms / 60_000,
      'min',
      month,
      'it must be gone for, before it is over',
    ),
    offRuns: setting(offDelay.runs, 'looks', runs, 'looks in a row that must find it gone'),
  };
}

/** A setting in one line. */
export const setting = (
  value: number,
  unit: string,
  [low, high]: readonly [number, number],
  says: string,
): RuleSetting => ({ default: value, unit, low, high, says });
