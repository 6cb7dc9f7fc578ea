/** Why a node is silent. */
export const silenceCauses = [
  'dark-declared',
  'dark-inferred',
  'broken',
  'link-one',
  'link-shared',
  'data-cap',
  'theft',
  'our-side',
  'clock-reset',
  'awake-pattern',
] as const;
export type SilenceCause = (typeof silenceCauses)[number];

/** Why a node charges worse, or spends more, than its design says. */
export const powerCauses = [
  'nothing-wrong',
  'snow',
  'soiling',
  'shade',
  'panel-moved',
  'connector',
  'charger',
  'battery-full',
  'too-cold',
  'too-hot',
  'battery-aged',
  'stuck-awake',
  'water',
] as const;
export type PowerCause = (typeof powerCauses)[number];

export type CauseKey = SilenceCause | PowerCause;

/** One possible cause, with what speaks for and against it. */
export interface RankedCause {
  readonly cause: CauseKey;
  /** In words, e.g. "panel connector failed". */
  readonly name: string;
  /** 0–1; the causes of one question add up to 1. */
  readonly probability: number;
  /** Sentences with figures, the weightiest first. */
  readonly evidenceFor: readonly string[];
  readonly evidenceAgainst: readonly string[];
  /** What will tell, in words. */
  readonly settledBy: string;
  /** When it will have told. */
  readonly settledAtMs?: number;
}

/** The ranked causes of what a node does, the most probable first. */
export interface Diagnosis {
  readonly question: 'silence' | 'power';
  readonly madeAtMs: number;
  readonly causes: readonly RankedCause[];
}
