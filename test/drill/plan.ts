import type { CauseKey, DataPlan, NodeName, RuleKey, SettingsRequest } from '@duskline/domain';
import type { MishapAt, PanelFate, SimulatedSite, Spell } from '@duskline/simulator';

/** What a node's link does with what it says. */
export type Reach =
  | 'clear'
  /** Nothing gets through; the node keeps its log and sends it later. */
  | 'cut';

/** What a person should find at the top of the list when they look. */
export interface Expected {
  readonly question: 'silence' | 'power';
  readonly cause: CauseKey;
  /** When what is wrong begins; calls from then on belong to this cause. */
  readonly onsetMs: number;
  /** Of power: when somebody looks. Of silence: the first morning so many hours after it fell silent. */
  readonly lookAtMs?: number;
  readonly afterSilentHours?: number;
}

/** One node of a world: where it hangs, and what happens to it. */
export interface NodePlan {
  readonly site: SimulatedSite;
  /** Index of its own clouds. */
  readonly index: number;
  /** The case it stands for; undefined: nothing is wrong, it is there to be compared with. */
  readonly name?: string;
  readonly expected?: Expected;
  /** Shares the cause of the case of this name: its calls count there. */
  readonly partOf?: string;
  /** Rules this node is there to see firing. */
  readonly fires?: readonly RuleKey[];
  /** Rules that come near to saying something of this node, and must not. */
  readonly silentAbout?: readonly RuleKey[];
  /** Asked of it as the fleet begins to live; does it follow? */
  readonly asked?: { readonly request: SettingsRequest; readonly follows: boolean };
  readonly link?: string;
  readonly dataPlan?: DataPlan;
  /** Charge at the start, 0–1. */
  readonly startRatio?: number;
  readonly mishap?: MishapAt;
  readonly fate?: PanelFate;
  readonly reach?: (atMs: number) => Reach;
  /** The board dies at this moment: nothing more, and no word. */
  readonly deadFromMs?: number;
  /** Its farewell does not get through. */
  readonly farewellLost?: boolean;
  /** From then on its clock says the year 2000, and it does not send its uptime. */
  readonly clockResetMs?: number;
  /** Nothing more gets through once its data plan is used up. */
  readonly stopsAtCap?: boolean;
}

/** Nothing is said by this rule of the fleet, about this subject, before this moment. */
export interface FleetSilence {
  readonly rule: RuleKey;
  /** Words by which its subject is known in the sentence; undefined: about anything. */
  readonly about?: string;
  readonly untilMs?: number;
}

/** One stretch of simulated time with its weather, its nodes and its looks. */
export interface WorldPlan {
  readonly name: string;
  readonly seed: number;
  readonly startMs: number;
  /** What is before is told at once, as a backlog; from here on the fleet lives. */
  readonly liveFromMs: number;
  readonly endMs: number;
  /** The moment the own faults of the pretend fleet are about. */
  readonly drillMs?: number;
  /** From one message, and one look of the sweep, to the next. */
  readonly stepMs: number;
  readonly sampleMs: number;
  /**
   * Whose looks are worth the while at a moment; undefined: everybody's. Looks cost more than anything else here.
   * `hasNews`: it went dark or came back within the last step.
   */
  readonly looksAt?: (one: NodePlan, atMs: number, hasNews: boolean) => boolean;
  readonly spells: readonly Spell[];
  readonly nodes: readonly NodePlan[];
  /** A gap in the rota is known within this stretch. */
  readonly rotaGap?: { readonly fromMs: number; readonly untilMs: number };
  /** Nothing reaches the server within this stretch: its own line is down. */
  readonly ourLineDown?: { readonly fromMs: number; readonly untilMs: number };
  /** Rules about the fleet that come near to saying something in this world, and must not. */
  readonly fleetSilentAbout?: readonly FleetSilence[];
  /** The case of the whole fleet. */
  readonly fleetCase?: { readonly name: string; readonly expected: Expected };
}

export const nodeNameOf = (site: SimulatedSite): NodeName => `${site.id}-1` as NodeName;
