import type {
  Alert,
  AlertText,
  NodeId,
  NodeState,
  Priority,
  RuleKey,
  RuleSettings,
  SiteId,
} from '@duskline/domain';
import type { DarkChances } from './dark-probability.ts';
import type { Delay, RuleSetting } from './rule.ts';
import { valuesOf } from './rule.ts';

/** One node as a rule about the fleet sees it. */
export interface FleetNode {
  readonly nodeId: NodeId;
  readonly siteId: SiteId;
  readonly siteName: string;
  readonly state: NodeState;
  /** Carrier, gateway or relay; undefined: nothing is known to be shared. */
  readonly link?: string;
  readonly lastHeardAtMs?: number;
  readonly usualGapMs: number;
  /** Of its newest outlook, where that could be made. */
  readonly ahead?: DarkChances;
  /** The rules whose alerts about it are open. */
  readonly openRules?: readonly RuleKey[];
  /** Somebody accepts that it is dark now. */
  readonly isAcceptedDark?: boolean;
}

/** What the rules about the fleet look at. */
export interface FleetFacts {
  readonly nowMs: number;
  readonly nodes: readonly FleetNode[];
  readonly server: {
    /** When the process began: nothing is blamed on silence it was not there to hear. */
    readonly startedAtMs: number;
    readonly intakeLagMs?: number;
    /** How far the outlook furthest behind lies behind the readings it could rest on. */
    readonly oldestOutlookAgeMs?: number;
    readonly oldestUnsentMs?: number;
    readonly databaseDown?: boolean;
    readonly brokerDown?: boolean;
  };
  /** First uncovered stretch of the rota within its horizon, in words. */
  readonly rotaGap?: { readonly fromMs: number; readonly says: string };
  /** Open alerts nobody has taken, with how long somebody awake could have. */
  readonly untaken: readonly {
    readonly alert: Pick<Alert, 'id' | 'priority'>;
    readonly siteName: string;
    readonly wakingMs: number;
  }[];
  /** Trips under way, one entry for each person and round. */
  readonly visitsOut?: readonly {
    /** `visit:<id>` of its first visit. */
    readonly subject: string;
    readonly who: string;
    /** Empty: not known. */
    readonly phone: string;
    readonly companions: string;
    readonly siteNames: readonly string[];
    readonly setOutAtMs: number;
    readonly backByMs: number;
    readonly timeZone: string;
  }[];
  readonly settings?: RuleSettings;
}

/** What one rule finds about one subject of the fleet. */
export type FleetFinding =
  | {
      readonly kind: 'holds';
      readonly subject: string;
      readonly priority: Priority;
      readonly text: AlertText;
      /** The nodes it explains: their own alerts are quiet meanwhile. */
      readonly covers: readonly NodeId[];
    }
  | { readonly kind: 'clear'; readonly subject: string; readonly why: string }
  /** Between its limits: an open alert about it stays and goes on explaining these nodes, none is raised. */
  | { readonly kind: 'undecided'; readonly subject: string; readonly covers?: readonly NodeId[] };

/** A rule about the fleet: one file in fleet-rules/, one line in fleet-rules/index.ts. */
export interface FleetRule {
  readonly key: string;
  readonly name: string;
  readonly why: string;
  readonly who: string;
  readonly settings: Readonly<Record<string, RuleSetting>>;
  readonly onDelay: Delay;
  readonly offDelay: Delay;
  readonly evaluate: (facts: FleetFacts) => readonly FleetFinding[];
}

type Values<S> = { readonly [K in keyof S]: number };

/** See `defineRule`. */
export function defineFleetRule<const S extends Readonly<Record<string, RuleSetting>>>(
  rule: Omit<FleetRule, 'settings' | 'evaluate'> & {
    readonly settings: S;
    readonly evaluate: (facts: FleetFacts, values: Values<S>) => readonly FleetFinding[];
  },
): FleetRule {
  return {
    ...rule,
    evaluate: (facts) =>
      rule.evaluate(facts, valuesOf(rule.settings, facts.settings?.[rule.key] ?? {}) as Values<S>),
  };
}
