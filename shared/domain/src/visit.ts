import type { AccountId, SiteId } from './ids.ts';

/** `called-off`: nobody went. */
export const visitStates = ['planned', 'under-way', 'done', 'called-off'] as const;
export type VisitState = (typeof visitStates)[number];

/** The word people read. */
export const visitStateWord: Readonly<Record<VisitState, string>> = {
  planned: 'planned',
  'under-way': 'under way',
  done: 'done',
  'called-off': 'called off',
};

/** What was done at a site, as far as it can show in figures or in the parts. */
export const visitDeeds = [
  'looked',
  'cleaned-panel',
  'cut-growth',
  'set-panel',
  'mended-cable',
  'charged-battery',
  'changed-battery',
  'changed-node',
  'changed-sensor',
  'changed-card',
] as const;
export type VisitDeed = (typeof visitDeeds)[number];

/** As the end of the sentence "Ash Fell …". */
export const visitDeedWord: Readonly<Record<VisitDeed, string>> = {
  looked: 'looked it over',
  'cleaned-panel': 'cleaned the panel',
  'cut-growth': 'cut growth back',
  'set-panel': 'set the panel anew',
  'mended-cable': 'mended a cable or connector',
  'charged-battery': 'charged the battery',
  'changed-battery': 'changed the battery',
  'changed-node': 'changed the board',
  'changed-sensor': 'changed a sensor',
  'changed-card': 'changed the memory card',
};

/** Somebody means to go to a site. Several visits of one trip share their round. */
export interface VisitPlan {
  /** UUID. */
  readonly id: string;
  readonly siteId: SiteId;
  readonly round?: { readonly id: string; readonly place: number };
  /** When they mean to set out. */
  readonly plannedAtMs: number;
  readonly personId: AccountId;
  readonly person: string;
  readonly why: string;
  readonly plannedBy: string;
  readonly madeAtMs: number;
  /** Each time it was moved, the first first; undefined: it never was. */
  readonly moves?: readonly VisitMoved[];
}

/** A visit went to another time or person. People by their names at that time. */
export interface VisitMoved {
  readonly atMs: number;
  readonly by: string;
  readonly why: string;
  /** When they had meant to set out, and when they do now. */
  readonly fromMs: number;
  readonly toMs: number;
  readonly fromPerson: string;
  readonly toPerson: string;
}

/** What somebody reports of a visit; the phone keeps it until there is coverage, so steps may come late, twice, in any order. */
export type VisitStep = {
  /** UUID, made where the step was made. */
  readonly id: string;
  readonly atMs: number;
} & (
  | {
      readonly kind: 'set-out';
      /** Whoever is not back then is looked for. */
      readonly backByMs: number;
      /** Who comes along; empty: alone. */
      readonly companions: string;
      /** Keys of the cautions that were read and ticked. */
      readonly cautions: readonly string[];
    }
  /** More time is needed. */
  | { readonly kind: 'later'; readonly backByMs: number }
  | { readonly kind: 'tick' | 'untick'; readonly item: string }
  | { readonly kind: 'note'; readonly text: string }
  | { readonly kind: 'back'; readonly found: string; readonly deeds: readonly VisitDeed[] }
  /** What was left out of the report, written down afterwards. */
  | {
      readonly kind: 'add';
      /** Name of whoever adds it. */
      readonly by: string;
      readonly found: string;
      readonly deeds: readonly VisitDeed[];
    }
  | { readonly kind: 'call-off'; readonly why: string }
);

/** What was added to the report of a visit. */
export interface VisitAddition {
  readonly atMs: number;
  readonly by: string;
  readonly found: string;
  readonly deeds: readonly VisitDeed[];
}

/** What a visit has come to. */
export interface VisitProgress {
  readonly state: VisitState;
  readonly setOutAtMs?: number;
  readonly backByMs?: number;
  readonly companions: string;
  readonly cautions: readonly string[];
  readonly backAtMs?: number;
  readonly found: string;
  /** Those of the report, and those added to it afterwards. */
  readonly deeds: readonly VisitDeed[];
  /** What was added to the report; left out: nothing was. */
  readonly added?: readonly VisitAddition[];
  readonly calledOffWhy?: string;
  /** Ticked items of the check list, in order. */
  readonly ticked: readonly string[];
  readonly notes: readonly { readonly atMs: number; readonly text: string }[];
}

export interface Visit extends VisitPlan, VisitProgress {}

/** Who never says "I'm back" still ends a visit for the rules: so long after the time they gave. */
export const FORGOTTEN_AFTER_MS = 12 * 3_600_000;

/**
 * What the steps of one visit come to. Steps may be given in any order and more than once: they are taken by their time,
 * those of one instant by their id. The first `set-out` counts, the last word on when to be back, the last `back`. Who is
 * back, or has set out, cannot have called it off.
 */
export function visitProgress(steps: readonly VisitStep[]): VisitProgress {
  const known = [...new Map(steps.map((step) => [step.id, step])).values()].sort(
    (a, b) => a.atMs - b.atMs || (a.id < b.id ? -1 : 1),
  );
  const of = <K extends VisitStep['kind']>(kind: K) =>
    known.filter((step): step is Extract<VisitStep, { kind: K }> => step.kind === kind);
  const [setOut] = of('set-out');
  const back = of('back').at(-1);
  const callOff = of('call-off').at(-1);
  const later = of('later').at(-1);
  const added = of('add').map(({ atMs, by, found, deeds }) => ({ atMs, by, found, deeds }));
  const ticks = new Map<string, boolean>();
  for (const step of known)
    if (step.kind === 'tick' || step.kind === 'untick') ticks.set(step.item, step.kind === 'tick');
  const backByMs = setOut === undefined ? undefined : (later?.backByMs ?? setOut.backByMs);
  return {
    state: stateOf(setOut !== undefined, back !== undefined, callOff !== undefined),
    ...(setOut === undefined ? {} : { setOutAtMs: setOut.atMs }),
    ...(backByMs === undefined ? {} : { backByMs }),
    companions: setOut?.companions ?? '',
    cautions: setOut?.cautions ?? [],
    ...(back === undefined ? {} : { backAtMs: back.atMs }),
    found: back?.found ?? '',
    deeds: [...new Set([...(back?.deeds ?? []), ...added.flatMap(({ deeds }) => deeds)])],
    ...(added.length === 0 ? {} : { added }),
    ...(callOff === undefined || setOut !== undefined || back !== undefined
      ? {}
      : { calledOffWhy: callOff.why }),
    ticked: [...ticks]
      .filter(([, on]) => on)
      .map(([item]) => item)
      .sort(),
    notes: of('note').map(({ atMs, text }) => ({ atMs, text })),
  };
}

function stateOf(hasSetOut: boolean, isBack: boolean, isOff: boolean): VisitState {
  if (isBack) return 'done';
  if (hasSetOut) return 'under-way';
  return isOff ? 'called-off' : 'planned';
}

/** Is somebody there, as far as the rules go? From setting out until back; who forgets to say so is taken for back in time. */
export const isOnVisit = (
  { state, setOutAtMs, backByMs }: Pick<VisitProgress, 'state' | 'setOutAtMs' | 'backByMs'>,
  nowMs: number,
): boolean =>
  state === 'under-way' &&
  setOutAtMs !== undefined &&
  setOutAtMs <= nowMs &&
  nowMs < (backByMs ?? setOutAtMs) + FORGOTTEN_AFTER_MS;

/** How the yield and the reserve of a site stood before and after a visit. */
export type VisitVerdict =
  | {
      readonly kind: 'judged';
      readonly horizon: VisitHorizon;
      /** Yield after ÷ before − 1, weather taken out by the other sites of the same days; and where eight in ten such lie. */
      readonly yieldChange: number;
      readonly lowChange: number;
      readonly highChange: number;
      readonly daysBefore: number;
      readonly daysAfter: number;
      /** Wh a day that come in more than they would have. */
      readonly gainWhPerDay?: number;
      readonly reserve?: ReserveChange;
      readonly says: string;
    }
  | {
      readonly kind: 'cannot-tell';
      readonly horizon: VisitHorizon;
      readonly reserve?: ReserveChange;
      readonly says: string;
    };

export const visitHorizons = ['48h', '14d'] as const;
export type VisitHorizon = (typeof visitHorizons)[number];

/** Usable energy above the shut-down level; the weather is not taken out. */
export interface ReserveChange {
  readonly beforeWh: number;
  readonly afterWh: number;
  /** Days that energy lasts without any sun, at the load of the days around the visit. */
  readonly beforeDays?: number;
  readonly afterDays?: number;
}
