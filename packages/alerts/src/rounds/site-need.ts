import {
  DAY_MS,
  daySpan,
  sayDuration,
  sayMoment,
  sayPercent,
  sayRoughly,
  type Alert,
  type Diagnosis,
  type FieldNode,
  type Outlook,
  type RuleKey,
  type Site,
  type StateVerdict,
} from '@duskline/domain';
import { firstStopMs } from '../first-stop.ts';

/** What is known of one site when rounds are thought about. */
export interface SiteNeedFacts {
  readonly nowMs: number;
  readonly site: Site;
  readonly node?: FieldNode;
  readonly verdict?: StateVerdict;
  readonly outlook?: Outlook;
  /** Of its node, in any state. */
  readonly alerts: readonly Alert[];
  readonly silence?: Diagnosis;
  readonly power?: Diagnosis;
  /** A coordinator accepts that it is dark until then. */
  readonly acceptedUntilMs?: number;
}

/** By when somebody must have been there. */
export type SiteNeed =
  | {
      readonly kind: 'by';
      /** The latest safe date: never before now. */
      readonly atMs: number;
      /** The weightiest first. */
      readonly because: readonly string[];
      /** The alert that sets the date calls nobody before then: somebody paused it, and the date stays. */
      readonly pausedUntilMs?: number;
    }
  | { readonly kind: 'no-need'; readonly untilMs?: number; readonly because: readonly string[] }
  | { readonly kind: 'cannot-tell'; readonly because: readonly string[] };

/** The chance of having stopped that is still taken for safe: the pessimistic end of an outlook. */
export const SAFE_CHANCE = 0.1;

/**
 * Days from its opening within which an alert wants somebody there; rules that are not named are seen to from home, or by
 * others. Trade table of rules: common practice, no source.
 */
const VISIT_WITHIN_DAYS: Readonly<Record<RuleKey, number>> = {
  'charge-low': 1,
  overdue: 2,
  'restart-out-of-reach': 7,
  'silent-unexplained': 1,
  'charging-fault': 2,
  'yield-loss': 14,
  'battery-temperature': 1,
  'battery-ageing': 30,
  'load-abnormal': 2,
  'sensor-fault': 14,
  'storage-full': 7,
  'repeated-restarts': 2,
  'box-climate': 2,
  'signal-failing': 14,
};

/** By when an alert wants somebody there; undefined: it is seen to from home, by others, or follows the outlook. */
export function alertDueMs(
  { rule, priority, openedAtMs }: Pick<Alert, 'rule' | 'priority' | 'openedAtMs'>,
  nowMs: number,
): number | undefined {
  const days = VISIT_WITHIN_DAYS[rule];
  if (days === undefined) return undefined;
  return priority === 'P1' ? nowMs : openedAtMs + days * DAY_MS;
}

/** Somebody has to act on it: neither over, nor paused, nor quiet by design. */
export const isToActOn = ({ state }: Pick<Alert, 'state'>): boolean =>
  state === 'new' || state === 'taken';

/** Somebody will have to go for it: also where a pause keeps it quiet, for a pause moves no date. */
export const asksForVisit = (alert: Pick<Alert, 'state'>): boolean =>
  isToActOn(alert) || alert.state === 'paused';

/**
 * The latest safe date of one site: the earliest of what its outlook says (one chance in ten of having stopped) and what
 * its open alerts ask for. A node that is dark as designed and expected back needs nobody until its window is over.
 */
export function siteNeed(facts: SiteNeedFacts): SiteNeed {
  const excused = excuseOf(facts);
  if (excused !== undefined) return excused;
  const dates = [...alertDates(facts), ...outlookDate(facts)].sort((a, b) => a.atMs - b.atMs);
  const [first] = dates;
  if (first !== undefined)
    return {
      ...(first.pausedUntilMs === undefined ? {} : { pausedUntilMs: first.pausedUntilMs }),
      kind: 'by',
      atMs: Math.max(first.atMs, facts.nowMs),
      because: dates.map((date, i) => (i === 0 ? date.says(dates.length > 1) : date.saysLater)),
    };
  return calm(facts);
}

interface DueDate {
  readonly atMs: number;
  readonly pausedUntilMs?: number;
  /** As the earliest of them: the latest safe date is its. `isOneOfMany`: others say something later. */
  readonly says: (isOneOfMany: boolean) => string;
  /** As one that would have allowed longer. */
  readonly saysLater: string;
}

function excuseOf({
  nowMs,
  site,
  node,
  verdict,
  acceptedUntilMs,
}: SiteNeedFacts): SiteNeed | undefined {
  const day = (atMs: number) => sayRoughly(atMs, nowMs, site.timeZone);
  if (node === undefined)
    return { kind: 'cannot-tell', because: ['No node has been set up here.'] };
  if (node.retiredAtMs !== undefined || verdict?.state === 'retired')
    return { kind: 'no-need', because: ['Its node is retired.'] };
  if (acceptedUntilMs !== undefined && acceptedUntilMs > nowMs)
    return {
      kind: 'no-need',
      untilMs: acceptedUntilMs,
      because: [`That it is dark is accepted until ${day(acceptedUntilMs)}.`],
    };
  if (verdict?.state === 'off-for-work')
    return {
      kind: 'no-need',
      ...(node.offForWork === undefined ? {} : { untilMs: node.offForWork.untilMs }),
      because: [`Off for work: ${node.offForWork?.reason ?? 'somebody sees to it'}.`],
    };
  return undefined;
}

function alertDates({ nowMs, site, alerts }: SiteNeedFacts): DueDate[] {
  return alerts.filter(asksForVisit).flatMap((alert) => {
    const atMs = alertDueMs(alert, nowMs);
    if (atMs === undefined) return [];
    const late = nowMs - atMs;
    const by = sayRoughly(Math.max(atMs, nowMs), nowMs, site.timeZone);
    const { sentence } = alert.text;
    const { paused } = alert;
    const pause =
      paused === undefined
        ? ''
        : ` ${paused.by} paused it until ${sayMoment(paused.untilMs, site.timeZone)}: the date stays.`;
    const waited = `${sentence} This has waited ${sayDuration(late)} too long.${pause}`;
    const pausedUntil = paused === undefined ? {} : { pausedUntilMs: paused.untilMs };
    if (late >= DAY_MS) return [{ atMs, ...pausedUntil, says: () => waited, saysLater: waited }];
    return [
      {
        atMs,
        ...pausedUntil,
        says: (isOneOfMany) =>
          `${sentence} To be seen to by ${by}${isOneOfMany ? ': this alert sets the date' : ''}.${pause}`,
        saysLater: `${sentence} This alert alone would allow until ${by}.${pause}`,
      },
    ];
  });
}

function outlookDate({ outlook, verdict, site, nowMs }: SiteNeedFacts): DueDate[] {
  const heard = verdict?.state === 'up' || verdict?.state === 'low';
  if (!heard || outlook?.kind !== 'empties-in' || outlook.whileDark === true) return [];
  const atMs = firstStopMs(outlook);
  const chance = `${sayPercent(SAFE_CHANCE)} chance that it has stopped by ${sayRoughly(atMs, nowMs, site.timeZone)}, ${sayPercent(outlook.darkWithin7DaysProbability)} within 7 days`;
  return [
    {
      atMs,
      says: (isOneOfMany) => `${chance}${isOneOfMany ? ': the outlook sets the date' : ''}.`,
      saysLater: `${chance}.`,
    },
  ];
}

/** Nothing asks for anybody. */
function calm({ outlook, verdict, site, nowMs }: SiteNeedFacts): SiteNeed {
  const day = (atMs: number) => sayRoughly(atMs, nowMs, site.timeZone);
  const state = verdict?.state;
  if (state === 'link-down')
    return {
      kind: 'no-need',
      because: ['Its link is down, not the node: it keeps its log and will catch up.'],
    };
  const back = outlook !== undefined && 'back' in outlook ? outlook.back : undefined;
  if (state === 'dark-as-designed' && back?.kind === 'expected-back') {
    const endMs = back.window.p90Ms;
    return {
      kind: 'no-need',
      ...(endMs === undefined ? {} : { untilMs: endMs }),
      because: [
        `Dark as designed, expected back ${daySpan({ fromMs: back.window.p10Ms, ...(endMs === undefined ? {} : { toMs: endMs }) }, { timeZone: site.timeZone, nowMs })}; go only if it is late.`,
      ],
    };
  }
  if (outlook?.kind === 'beyond-horizon') {
    const untilMs = outlook.issuedAtMs + outlook.horizonDays * DAY_MS;
    return {
      kind: 'no-need',
      untilMs,
      because: [`Not expected to stop before ${day(untilMs)}.`],
    };
  }
  return { kind: 'cannot-tell', because: [unknownBecause({ outlook, verdict })] };
}

function unknownBecause({
  outlook,
  verdict,
}: {
  readonly outlook: Outlook | undefined;
  readonly verdict: StateVerdict | undefined;
}): string {
  if (verdict === undefined || verdict.state === 'not-yet-proved')
    return 'Not yet proved: nothing is known of how it lives.';
  if (outlook?.kind === 'insufficient-data')
    return `Too little data for an outlook: ${outlook.have} of ${outlook.need} ${outlook.missing}.`;
  return 'No outlook says how long it lasts.';
}
