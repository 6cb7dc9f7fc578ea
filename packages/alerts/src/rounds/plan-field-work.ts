import type { CauseKey, Diagnosis, PowerSystem, RuleKey } from '@duskline/domain';
import { fieldCautions, type FieldCaution } from './field-cautions.ts';
import { ALWAYS_BRING, DOES_FOR, fieldGuide, FIRST_STEPS, LAST_STEPS } from './field-guide.ts';

/** A cause less probable than this is not prepared for. */
const PREPARED_FROM = 0.15;

/** What an alert points to where no diagnosis does. */
const CAUSE_OF_RULE: Readonly<Record<RuleKey, CauseKey>> = {
  'charge-low': 'dark-declared',
  'forecast-low': 'dark-declared',
  'restart-out-of-reach': 'dark-declared',
  overdue: 'broken',
  'silent-unexplained': 'broken',
  'charging-fault': 'connector',
  'yield-loss': 'soiling',
  'battery-ageing': 'battery-aged',
  'load-abnormal': 'stuck-awake',
  'clock-wrong': 'clock-reset',
  'repeated-restarts': 'battery-aged',
  'box-climate': 'water',
  'signal-failing': 'link-one',
  'data-cap': 'data-cap',
  'snow-probable': 'snow',
  tamper: 'theft',
};

/** What the words of an alert ask for beside what is brought for its cause: whatever it says to bring stands on the list of the visit. */
const THINGS_OF_RULE: Readonly<Record<RuleKey, readonly string[]>> = {
  'silent-unexplained': ['aerial with cable'],
  overdue: ['charged battery of the same kind', 'spare connectors and crimping tool'],
  'charging-fault': ['fuse', 'power cable', 'charged battery of the same kind'],
  'repeated-restarts': ['charged battery of the same kind'],
  'yield-loss': ['saw or shears, with the land-owner’s leave', 'compass', 'tilt gauge'],
  'signal-failing': ['saw or shears, with the land-owner’s leave'],
  'box-climate': ['shade or vent for the box', 'thermometer'],
  'battery-temperature': ['thermometer', 'tested battery with protection'],
  'storage-full': ['spare memory card with the program'],
  'sensor-fault': ['spare sensor', 'reference instrument'],
};
/** Why something is brought that only the words of an alert ask for. */
const ITS_ALERT = 'what its alert asks for';

export interface FieldWorkFacts {
  readonly power?: PowerSystem;
  readonly silence?: Diagnosis;
  readonly charging?: Diagnosis;
  /** Rules of the open alerts. */
  readonly rules: readonly RuleKey[];
}

/** One line of the check list. */
export interface FieldStep {
  /** Stays the same from plan to plan, so that a tick can be kept. */
  readonly key: string;
  readonly says: string;
}

export interface FieldWork {
  /** The most probable first, with its probability where diagnosis gives one. */
  readonly causes: readonly {
    readonly cause: CauseKey;
    readonly name: string;
    readonly probability?: number;
    readonly steps: readonly FieldStep[];
  }[];
  readonly first: readonly FieldStep[];
  readonly last: readonly FieldStep[];
  readonly bring: readonly { readonly what: string; readonly because: string }[];
  readonly cautions: readonly FieldCaution[];
}

/** What to bring to a site, what to do there by probable cause, and what to mind. */
export function planFieldWork(facts: FieldWorkFacts): FieldWork {
  const causes = probableCauses(facts);
  return {
    causes: causes.map(({ cause, name, probability }) => ({
      cause,
      name,
      ...(probability === undefined ? {} : { probability }),
      steps: steps(cause, fieldGuide[cause].steps),
    })),
    first: steps('first', FIRST_STEPS),
    last: steps('last', LAST_STEPS),
    bring: bringList(causes, facts),
    cautions: fieldCautions(facts.power?.battery.chemistry),
  };
}

/** Why something is brought that no cause asks for. */
export const EVERY_VISIT = 'every visit';

const steps = (of: string, lines: readonly string[]): readonly FieldStep[] =>
  lines.map((says, i) => ({ key: `${of}-${i + 1}`, says }));

interface ProbableCause {
  readonly cause: CauseKey;
  readonly name: string;
  readonly probability?: number;
}

/** What diagnosis holds for likely; and what alerts point to that diagnosis says nothing of. */
function probableCauses({ silence, charging, rules }: FieldWorkFacts): readonly ProbableCause[] {
  const found = new Map<CauseKey, ProbableCause>();
  for (const diagnosis of [silence, charging])
    for (const { cause, name, probability } of diagnosis?.causes ?? [])
      if (probability >= PREPARED_FROM && isToMend(cause))
        found.set(cause, { cause, name, probability });
  const ranked = [...found.values()].sort((a, b) => (b.probability ?? 0) - (a.probability ?? 0));
  const pointed = rules.flatMap((rule) => {
    const cause = CAUSE_OF_RULE[rule];
    return cause === undefined || found.has(cause) ? [] : [cause];
  });
  return [...ranked, ...[...new Set(pointed)].map((cause) => ({ cause, name: pointedAt(cause) }))];
}

const isToMend = (cause: CauseKey): boolean =>
  fieldGuide[cause].bring.length + fieldGuide[cause].steps.length > 0;

/** What an alert points to, named as far as an alert can know it. */
const POINTED_AT: Partial<Readonly<Record<CauseKey, string>>> = {
  'dark-declared': 'charge running low',
  broken: 'board, card or power cable',
  connector: 'panel, connector or charger',
  soiling: 'panel soiled or shaded',
  'battery-aged': 'battery weak',
  'stuck-awake': 'load out of its habit',
  'clock-reset': 'its clock',
  water: 'water or heat in the box',
  'link-one': 'its link',
  'data-cap': 'its data plan',
  snow: 'snow on the panel',
  theft: 'taken, or broken by somebody',
};
const pointedAt = (cause: CauseKey): string => POINTED_AT[cause] ?? cause.replaceAll('-', ' ');

/** Every thing once, for the first cause that asks for it, and none that another does the work of. */
function bringList(
  causes: readonly ProbableCause[],
  { rules, power }: Pick<FieldWorkFacts, 'rules' | 'power'>,
): FieldWork['bring'] {
  const because = new Map<string, string>();
  for (const { cause, name } of causes)
    for (const what of fieldGuide[cause].bring) if (!because.has(what)) because.set(what, name);
  for (const what of rules.flatMap((rule) => THINGS_OF_RULE[rule] ?? []))
    if (!because.has(what)) because.set(what, ITS_ALERT);
  for (const what of ALWAYS_BRING) if (!because.has(what)) because.set(what, EVERY_VISIT);
  for (const [what, others] of Object.entries(DOES_FOR)) {
    if (!because.has(what)) continue;
    for (const other of others) because.delete(other);
  }
  return [...because].map(([what, why]) => ({ what: withSize(what, power), because: why }));
}

/** A battery is named with its size: "charged battery of the same kind (154 Wh, 4 cells)". */
const withSize = (what: string, power: PowerSystem | undefined): string =>
  power === undefined || !what.includes('battery of the same kind')
    ? what
    : `${what} (${Math.round(power.battery.ratedWh)} Wh, ${power.battery.seriesCells} cells in series)`;
