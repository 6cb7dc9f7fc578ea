import type { CauseKey, RuleKey } from '@duskline/domain';
import { freshValue, type RuleFacts } from './rule-facts.ts';

/** Rules that one physical cause makes true at once, or one after the other. */
export interface CauseChain {
  readonly says: string;
  /** What may begin it. Two beginnings are two causes. */
  readonly begins: readonly RuleKey[];
  /** What comes of it, each of one cause with the others and with what began it. */
  readonly follows: readonly RuleKey[];
  /** Only then; undefined: always. */
  readonly when?: (facts: RuleFacts) => boolean;
}

/** A pair of rules that may both be true of one node and are two causes, two calls. */
export interface PairsApart {
  readonly these: readonly RuleKey[];
  readonly those: readonly RuleKey[];
  readonly because: string;
}

const LIKELY = 0.5;
const isSilentFor =
  (cause: CauseKey) =>
  ({ silence }: RuleFacts): boolean =>
    silence?.causes[0]?.cause === cause;
const isLikely = ({ power }: RuleFacts, cause: CauseKey): boolean => {
  const first = power?.causes[0];
  return first?.cause === cause && first.probability >= LIKELY;
};
const isCardFailing = ({ housekeeping }: RuleFacts): boolean =>
  housekeeping?.storageReadOnly === true || (housekeeping?.storageErrors ?? 0) > 0;
/** Dry again is below 85 %RH (row 20 of the table of rules). */
const isWet = (facts: RuleFacts): boolean =>
  isLikely(facts, 'water') || (facts.figures?.boxRhDayMeanPercent ?? 0) >= 85;
/** Box and battery above the warmest a battery is charged at (45 °C, row 13). */
const areBothHot = (facts: RuleFacts): boolean =>
  ['box_temp' as const, 'batt_temp' as const].every((metric) => {
    return (freshValue(facts, metric) ?? 0) > 45;
  });

const RUN_DOWN: readonly RuleKey[] = ['forecast-low', 'charge-low'];
const NOT_BACK: readonly RuleKey[] = ['overdue', 'restart-out-of-reach'];

/**
 * What one cause makes true at once: the first to open calls, the others join it.
 *
 * Signatures of faults and table of rules: common practice, no source.
 */
export const causeChains: readonly CauseChain[] = [
  {
    says: 'more goes out than comes in: the charge runs down, the node stops, and does not come back',
    begins: ['charging-fault', 'yield-loss', 'load-abnormal'],
    follows: [...RUN_DOWN, ...NOT_BACK, 'repeated-restarts'],
  },
  { says: 'the panel gives less, or nothing', begins: ['charging-fault'], follows: ['yield-loss'] },
  {
    says: 'an aged battery empties sooner, and sags as the node starts',
    begins: ['battery-ageing'],
    follows: [...RUN_DOWN, 'repeated-restarts'],
  },
  {
    says: 'an aged battery takes little, and does not carry the node back',
    begins: ['battery-ageing'],
    follows: ['yield-loss', 'charging-fault', ...NOT_BACK],
    when: (facts) => isLikely(facts, 'battery-aged'),
  },
  {
    says: 'the node is not heard',
    begins: [],
    follows: ['silent-unexplained', 'tamper', ...NOT_BACK],
  },
  {
    says: 'a board that was awake too long has hung',
    begins: ['load-abnormal'],
    follows: ['silent-unexplained'],
    when: isSilentFor('awake-pattern'),
  },
  {
    says: 'the data plan is used up',
    begins: ['data-cap'],
    follows: ['silent-unexplained'],
    when: isSilentFor('data-cap'),
  },
  {
    says: 'the data plan is used up, and readings pile up',
    begins: ['data-cap'],
    follows: ['signal-failing'],
    when: ({ housekeeping }) =>
      housekeeping?.data !== undefined && housekeeping.data.usedBytes >= housekeeping.data.capBytes,
  },
  {
    says: 'the node’s own link fails',
    begins: ['signal-failing'],
    follows: ['silent-unexplained'],
    when: isSilentFor('link-one'),
  },
  {
    says: 'its clock was reset, so it seems silent',
    begins: ['clock-wrong'],
    follows: ['silent-unexplained'],
    when: isSilentFor('clock-reset'),
  },
  {
    says: 'a board that kept restarting has died',
    begins: ['repeated-restarts'],
    follows: ['silent-unexplained'],
    when: isSilentFor('broken'),
  },
  {
    says: 'the card fails, and the board with it',
    begins: ['storage-full'],
    follows: ['repeated-restarts', 'silent-unexplained'],
    when: (facts) =>
      isCardFailing(facts) && (facts.silence === undefined || isSilentFor('broken')(facts)),
  },
  {
    says: 'every start loses the time, for want of a clock that runs on',
    begins: ['repeated-restarts'],
    follows: ['clock-wrong'],
    when: ({ housekeeping }) =>
      housekeeping?.clockSource === 'none' && (housekeeping.bootsIn24h ?? 0) >= 2,
  },
  {
    says: 'water in the box reaches sensors, board and connectors',
    begins: ['box-climate'],
    follows: [
      ...['sensor-fault', 'load-abnormal', 'repeated-restarts', 'charging-fault'],
      ...['silent-unexplained', 'storage-full'],
    ],
    when: isWet,
  },
  {
    says: 'the heat of the box is the heat of its battery',
    begins: ['box-climate'],
    follows: ['battery-temperature'],
    when: areBothHot,
  },
  {
    says: 'a sensor died, and draws nothing any more',
    begins: ['sensor-fault'],
    follows: ['load-abnormal'],
    when: ({ figures }) => (figures?.loadChange ?? 1) < 1,
  },
];

const ENERGY: readonly RuleKey[] = [
  ...['charging-fault', 'yield-loss', 'load-abnormal', 'battery-ageing', 'repeated-restarts'],
  ...RUN_DOWN,
  ...NOT_BACK,
];
const DATA: readonly RuleKey[] = [
  ...['sensor-fault', 'clock-wrong', 'storage-full', 'settings-not-in-force'],
];
const LINK: readonly RuleKey[] = ['signal-failing', 'data-cap'];
const NODE: readonly RuleKey[] = [...ENERGY, ...DATA, ...LINK, 'box-climate', 'silent-unexplained'];
const DANGER: readonly RuleKey[] = ['tamper', 'battery-temperature'];
const EVENTS: readonly RuleKey[] = [
  ...['dark-as-designed', 'snow-probable', 'charge-blocked', 'first-light'],
];
const FLEET: readonly RuleKey[] = [
  ...['shared-link-down', 'bad-weather', 'not-ours', 'nobody-coming', 'visit-late'],
];
const EVERY: readonly RuleKey[] = [...NODE, ...DANGER, ...EVENTS, ...FLEET];

/** Pairs in no chain, and why; where a chain has a condition, why they are two when it does not hold stands there too. */
export const pairsApart: readonly PairsApart[] = [
  {
    these: EVENTS,
    those: EVERY,
    because: 'an event is written down and calls nobody: there is nothing to join',
  },
  {
    these: DANGER,
    those: [...NODE, ...DANGER],
    because: 'a danger to people is always told by itself, whatever else is known of the site',
  },
  {
    these: ['charging-fault', 'yield-loss'],
    those: ['load-abnormal'],
    because: 'what comes in and what goes out are other parts and other work: the second is news',
  },
  {
    these: ['battery-ageing'],
    those: ['load-abnormal', 'charging-fault', 'yield-loss', ...NOT_BACK],
    because: 'a battery ages for years; what else fails beside it, without its signature, is news',
  },
  {
    these: DATA,
    those: [...ENERGY, ...DATA, ...LINK],
    because:
      'wrong readings, a card, a clock and wishes not followed each have a cure of their own',
  },
  {
    these: LINK,
    those: [...ENERGY, ...LINK],
    because: 'an aerial and a contract neither fill nor empty a battery, nor one the other',
  },
  {
    these: ['box-climate'],
    those: NODE,
    because: 'dry and cool enough, the box explains nothing; wet or hot see the chains',
  },
  {
    these: ['silent-unexplained'],
    those: NODE,
    because:
      'its charge does not explain the silence, so what is known of its charge does not either',
  },
  {
    these: ['shared-link-down', 'bad-weather', 'not-ours'],
    those: [...NODE, ...DANGER, ...FLEET],
    because:
      'what they explain of a node is quiet under them (quietUnder); what stays is the node’s own, known before',
  },
  {
    these: ['nobody-coming', 'visit-late'],
    those: [...NODE, ...DANGER, ...FLEET],
    because:
      'they are about people: that nobody comes is another matter than what they should come for',
  },
];

/** What of a node’s own makes this rule true, in whatever weather. */
export const causesOf = (rule: RuleKey): readonly RuleKey[] =>
  causeChains.flatMap(({ begins, follows, when }) =>
    when === undefined && follows.includes(rule) ? begins : [],
  );

/** Whether two rules, both true of a node now, see one physical cause. */
export function isOneCause(a: RuleKey, b: RuleKey, facts: RuleFacts): boolean {
  return causeChains.some(({ begins, follows, when }) => {
    const [hasA, hasB] = [follows.includes(a), follows.includes(b)];
    const isPair = (hasA && (hasB || begins.includes(b))) || (hasB && begins.includes(a));
    return isPair && (when === undefined || when(facts));
  });
}
