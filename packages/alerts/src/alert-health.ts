import {
  byCause,
  causeOf,
  DAY_MS,
  HOUR_MS,
  MINUTE_MS,
  type Alert,
  type Person,
  type Priority,
} from '@duskline/domain';
import type { Duty } from './rota/duties.ts';
import { isQuiet } from './rota/quiet-hours.ts';

export interface HealthFacts {
  readonly fromMs: number;
  readonly toMs: number;
  /** Opened in that time. */
  readonly alerts: readonly Alert[];
  /** Open now, whenever they opened. */
  readonly open: readonly Alert[];
  /** Messages about alerts that were sent in that time. */
  readonly messages: readonly {
    readonly personId: Person['id'];
    readonly alertId?: Alert['id'];
    readonly sentAtMs: number;
    readonly step: number;
  }[];
  /** Alerts with a step of a person: taken, handed on, paused, noted. */
  readonly actedOn: ReadonlySet<string>;
  readonly duties: readonly Duty[];
  readonly people: readonly Person[];
  readonly placeOf: (alert: Alert) => string;
}

export interface HealthFigure {
  readonly key: string;
  readonly name: string;
  readonly value: number | null;
  readonly unit: string;
  readonly target: string;
  /** Null: nothing to judge by. */
  readonly met: boolean | null;
}

const NINE_OF = 10;
const STALE_MS = 7 * DAY_MS;
const CHATTER = { times: 3, withinMs: DAY_MS } as const;
const FLOOD = { more: 3, withinMs: 30 * MINUTE_MS } as const;
/** As the pages call the priorities. */
const URGENCY = { P1: 'now, day or night', P2: 'today', P3: 'within the week' } as const;

/** Time in which somebody should have taken it: when rule 24 counts it as untaken. */
const TAKE_WITHIN_MS: Readonly<Record<Priority, number>> = {
  P1: 15 * MINUTE_MS,
  P2: 4 * HOUR_MS,
  P3: 7 * DAY_MS,
};

/**
 * How healthy the alerts are. Figures after ISA-18.2 / EEMUA 191, rates for one volunteer instead of paid staff at a desk:
 * common practice, no source (at most one message a day on call, one night wake-up a week; staleness above seven days; four
 * of five messages lead to something somebody does). What is counted is causes, as the lists show them.
 */
export function alertHealth(facts: HealthFacts) {
  const { fromMs, toMs } = facts;
  const alerts = causesOf(facts.alerts);
  const days = Math.max((toMs - fromMs) / DAY_MS, 1 / 24);
  const byPerson = facts.people
    .map((person) => personRates(facts, person))
    .filter((one) => one.messages > 0 || one.onCallDays > 0);
  const onCallDays = sum(byPerson.map((one) => one.onCallDays));
  const onCallMessages = sum(byPerson.map((one) => one.onCallMessages));
  const night = sum(byPerson.map((one) => one.nightMessages));
  const sources = countBy(
    alerts,
    (alert) => `${alert.rule}\n${alert.siteId}\n${alert.subject ?? ''}`,
  );
  const topTen = [...sources.values()]
    .sort((a, b) => b.length - a.length)
    .slice(0, 10)
    .flatMap((group) => {
      const [first] = group;
      return first === undefined
        ? []
        : [
            {
              rule: first.rule,
              place: facts.placeOf(first),
              alerts: group.length,
              share: group.length / alerts.length,
            },
          ];
    });
  const chattering = [...sources.values()].flatMap((group) => {
    const times = mostWithin(
      group.map((one) => one.openedAtMs),
      CHATTER.withinMs,
    );
    const [first] = group;
    return first === undefined || times < CHATTER.times
      ? []
      : [{ rule: first.rule, place: facts.placeOf(first), times }];
  });
  const stale = causesOf(facts.open)
    .filter((one) => one.state !== 'paused' && toMs - one.openedAtMs > STALE_MS)
    .map((one) => ({ id: one.id, rule: one.rule, days: (toMs - one.openedAtMs) / DAY_MS }));
  const priorities = (['P1', 'P2', 'P3'] as const).map((priority) => {
    const of = alerts.filter((one) => one.priority === priority);
    const takes = of.flatMap((one) =>
      one.takenAtMs === undefined ? [] : [one.takenAtMs - one.openedAtMs],
    );
    return {
      priority,
      alerts: of.length,
      share: alerts.length === 0 ? 0 : of.length / alerts.length,
      takenP50Ms: quantile(takes, 0.5),
      // Of fewer than ten there is no nine of ten: the slowest of them is judged, and called that.
      takenP90Ms: takes.length < NINE_OF ? null : quantile(takes, 0.9),
      taken: takes.length,
      slowestMs: quantile(takes, 1),
    };
  });
  const rootOf = new Map([...facts.open, ...facts.alerts].map((one) => [one.id, causeOf(one)]));
  const causeIds = (ids: Iterable<string>) =>
    new Set([...ids].map((id) => rootOf.get(id as Alert['id']) ?? id));
  const told = causeIds(facts.messages.flatMap(({ alertId }) => alertId ?? []));
  const actedOn = causeIds(facts.actedOn);
  const acted = [...told].filter((id) => actedOn.has(id)).length;
  const flood = floodShare(
    alerts.map((one) => one.openedAtMs),
    { fromMs, toMs },
  );
  return {
    /** Causes, as everything below counts them. */
    alerts: alerts.length,
    byPerson,
    topTen,
    chattering,
    stale,
    priorities,
    figures: [
      figure(
        'messages-per-on-call-day',
        'Messages per day on call',
        onCallDays < 0.5 ? null : onCallMessages / onCallDays,
        { unit: 'a day', most: 1 },
      ),
      figure('night-wake-ups', 'Messages in quiet hours, everybody together', (night * 7) / days, {
        unit: 'a week',
        most: 1,
      }),
      figure(
        'acted-on',
        'Alerts told of that led to something somebody did',
        told.size === 0 ? null : acted / told.size,
        { unit: 'share', least: 0.8 },
      ),
      figure('flood', `Time with more than ${FLOOD.more} new alerts in half an hour`, flood, {
        unit: 'share',
        most: 0.01,
      }),
      figure(
        'chattering',
        `Sources that raised ${CHATTER.times} or more within a day`,
        chattering.length,
        { unit: 'sources', most: 0 },
      ),
      figure('stale', 'Open for more than seven days', stale.length, { unit: 'alerts', most: 4 }),
      ...priorities
        .filter(({ priority }) => priority !== 'P3')
        .map(({ priority, taken, takenP90Ms, slowestMs }) =>
          figure(
            `take-${priority.toLowerCase()}`,
            takenP90Ms === null
              ? slowestOf(taken, URGENCY[priority])
              : `Nine of ten for ${URGENCY[priority]}, taken within`,
            minutesOf(takenP90Ms ?? slowestMs),
            { unit: 'min', most: TAKE_WITHIN_MS[priority] / MINUTE_MS },
          ),
        ),
      figure(
        'urgent-share',
        `Share of those for ${URGENCY.P1}`,
        alerts.length < 20 ? null : (priorities[0]?.share ?? 0),
        { unit: 'share', most: 0.05 },
      ),
    ],
  };
}

const slowestOf = (taken: number, urgency: string): string =>
  `${taken === 0 ? 'Those' : taken === 1 ? 'The one' : `The slowest of ${taken}`} for ${urgency}, taken within`;

const minutesOf = (ms: number | null): number | null => (ms === null ? null : ms / MINUTE_MS);

/** One physical cause counts once: from its first alert, as urgent as its most urgent, taken with the first that was taken. */
function causesOf(alerts: readonly Alert[]): readonly Alert[] {
  return byCause(alerts).map(({ alert, joined }) => {
    const all = [alert, ...joined];
    const takes = all.flatMap(({ takenAtMs }) => takenAtMs ?? []);
    return {
      ...alert,
      priority: all.map(({ priority }) => priority).sort()[0] ?? alert.priority,
      openedAtMs: Math.min(...all.map(({ openedAtMs }) => openedAtMs)),
      ...(takes.length === 0 ? {} : { takenAtMs: Math.min(...takes) }),
    };
  });
}

function personRates({ messages, duties, fromMs, toMs }: HealthFacts, person: Person) {
  const mine = distinct(messages.filter(({ personId }) => personId === person.id));
  const spans = duties
    .filter(({ personId }) => personId === person.id)
    .map((duty) => [Math.max(duty.fromMs, fromMs), Math.min(duty.untilMs, toMs)] as const)
    .filter(([a, b]) => b > a);
  const onCallDays = sum(spans.map(([a, b]) => (b - a) / DAY_MS));
  const onCallMessages = mine.filter(({ sentAtMs }) =>
    spans.some(([a, b]) => sentAtMs >= a && sentAtMs < b),
  ).length;
  const nightMessages = mine.filter(({ sentAtMs }) => isQuiet(person, sentAtMs)).length;
  return {
    person: person.name,
    messages: mine.length,
    onCallDays,
    onCallMessages,
    nightMessages,
    pushesPerOnCallDay: onCallDays < 0.5 ? null : onCallMessages / onCallDays,
    nightWakeUpsPerWeek: (nightMessages * 7 * DAY_MS) / Math.max(toMs - fromMs, HOUR_MS),
  };
}

/** One call over two channels is one buzz for the person. */
function distinct<
  M extends { readonly alertId?: string; readonly step: number; readonly sentAtMs: number },
>(messages: readonly M[]): readonly M[] {
  const seen = new Set<string>();
  return messages.filter(({ alertId, step, sentAtMs }) => {
    const key = alertId === undefined ? `at ${sentAtMs}` : `${alertId} ${step}`;
    return seen.has(key) ? false : Boolean(seen.add(key));
  });
}

function figure(
  key: string,
  name: string,
  value: number | null,
  { unit, most, least }: { readonly unit: string; readonly most?: number; readonly least?: number },
): HealthFigure {
  return {
    key,
    name,
    value,
    unit,
    target: most === undefined ? `at least ${least ?? 0}` : `at most ${most}`,
    met: value === null ? null : most === undefined ? value >= (least ?? 0) : value <= most,
  };
}

function countBy<T>(all: readonly T[], keyOf: (one: T) => string): Map<string, T[]> {
  const groups = new Map<string, T[]>();
  for (const one of all) {
    const group = groups.get(keyOf(one));
    if (group === undefined) groups.set(keyOf(one), [one]);
    else group.push(one);
  }
  return groups;
}

/** The most instants that lie within one stretch of that length. */
function mostWithin(instants: readonly number[], withinMs: number): number {
  const sorted = [...instants].sort((a, b) => a - b);
  return Math.max(
    0,
    ...sorted.map((from) => sorted.filter((at) => at >= from && at < from + withinMs).length),
  );
}

/** Share of the time that follows, within half an hour, the fourth of four alerts of half an hour. */
function floodShare(
  instants: readonly number[],
  { fromMs, toMs }: { readonly fromMs: number; readonly toMs: number },
): number {
  const sorted = [...instants].sort((a, b) => a - b);
  let floodMs = 0;
  let countedUntilMs = fromMs;
  for (let i = FLOOD.more; i < sorted.length; i += 1) {
    const first = sorted[i - FLOOD.more] ?? 0;
    const last = sorted[i] ?? 0;
    if (last - first > FLOOD.withinMs) continue;
    const endMs = Math.min(first + FLOOD.withinMs, toMs);
    floodMs += Math.max(0, endMs - Math.max(first, countedUntilMs));
    countedUntilMs = Math.max(countedUntilMs, endMs);
  }
  return toMs > fromMs ? floodMs / (toMs - fromMs) : 0;
}

/** Nearest rank. */
function quantile(values: readonly number[], share: number): number | null {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.max(0, Math.ceil(share * sorted.length) - 1)] ?? null;
}

const sum = (values: readonly number[]): number => values.reduce((total, one) => total + one, 0);
