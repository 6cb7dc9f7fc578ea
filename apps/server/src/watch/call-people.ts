import { callChain, callMessage, floodMessage, planCall, type RotaFacts } from '@duskline/alerts';
import {
  DAY_MS,
  isAboutFleet,
  MINUTE_MS,
  type Alert,
  type ChannelKind,
  type Person,
  type PersonChannel,
} from '@duskline/domain';
import { breakerOf, callKey } from '@duskline/notify';
import type { CallBody, DueAlert, NewCall, OutboxRow, Store } from '@duskline/store';
import { usableChannels } from './ways-out.ts';

export interface CallDeps {
  readonly store: Store;
  readonly now: () => number;
  /** Ways out that are set up. */
  readonly kinds: readonly ChannelKind[];
}

/** More than so many calls within so long are said as one. */
const FLOOD = { more: 3, withinMs: 30 * MINUTE_MS } as const;
/** A flood is held so long, for those that follow at once. */
const FLOOD_HOLD_MS = 2 * MINUTE_MS;
/** An urgent message that does not get out takes another way after so long. */
const FALLBACK_AFTER_MS = MINUTE_MS;
const AT_A_TURN = 100;

export async function rotaFacts(store: Store): Promise<RotaFacts> {
  const [people, shifts, groups] = await Promise.all([
    store.people.list(),
    store.rota.shifts(),
    store.siteGroups.list(),
  ]);
  return { people, shifts, groups };
}

/**
 * Makes messages of the alerts about which somebody is to be told now: whom, by what, in which words, and who is next if
 * nobody takes it. Several servers may do so at once; one of them wins for each alert.
 *
 * @returns how many alerts were due
 */
export async function callPeople(deps: CallDeps): Promise<number> {
  const { store, now } = deps;
  const due = await store.outbox.dueAlerts(now(), AT_A_TURN);
  if (due.length > 0) {
    const facts = await rotaFacts(store);
    // One after the other: whether it is a flood depends on those before.
    for (const one of due) await callFor(deps, facts, one);
  }
  await takeOtherWays(deps);
  return due.length;
}

async function callFor(deps: CallDeps, facts: RotaFacts, due: DueAlert): Promise<void> {
  const { store, now } = deps;
  const { alert, handedTo } = due;
  const nowMs = now();
  const chain = callChain(facts, {
    ...(isAboutFleet(alert) ? {} : { siteId: alert.siteId }),
    ...(handedTo === undefined ? {} : { handedTo }),
    atMs: nowMs,
  });
  const plan = planCall(withOwner(chain, facts, alert), due.told, {
    priority: alert.priority,
    nowMs,
  });
  const rows: NewCall[] = [];
  for (const { person, atMs } of plan.to)
    rows.push(...(await rowsFor(deps, due, { person, atMs, nowMs })));
  await store.outbox.expand(
    due,
    {
      rows,
      told: plan.to.map(({ person }) => person.id),
      ...(plan.nextCallAtMs === undefined ? {} : { nextCallAtMs: plan.nextCallAtMs }),
    },
    nowMs,
  );
}

/**
 * What somebody has calls them first (its pause is over, or it became worse), and others only where people are in danger.
 * Where they have left it calls as what nobody has.
 */
function withOwner(
  chain: readonly Person[],
  { people }: RotaFacts,
  { takenBy, priority }: Alert,
): readonly Person[] {
  const owner = people.find(({ name, endedAtMs }) => name === takenBy && endedAtMs === undefined);
  if (takenBy === undefined || owner === undefined) return chain;
  return priority === 'P1' ? [owner, ...chain.filter(({ id }) => id !== owner.id)] : [owner];
}

async function rowsFor(
  { store, kinds }: CallDeps,
  { alert, siteName, called }: DueAlert,
  {
    person,
    atMs,
    nowMs,
  }: { readonly person: Person; readonly atMs: number; readonly nowMs: number },
): Promise<readonly NewCall[]> {
  const usable = usableChannels(person, kinds);
  const [first, second] = usable;
  const step = called + 1;
  const row = (channel: PersonChannel | undefined): NewCall => ({
    key: callKey([alert.id, step, channel?.id ?? 'none', person.id]),
    kind: 'call',
    alertId: alert.id,
    step,
    priority: alert.priority,
    personId: person.id,
    ...(channel === undefined ? {} : { channel: wayOf(channel) }),
    dueAtMs: atMs,
    giveUpAtMs: atMs + DAY_MS,
    body: {
      subject: `${alert.priority} ${siteName === '' ? 'The fleet' : siteName}: ${alert.text.sentence}`,
      text: callMessage(alert, siteName),
    },
  });
  if (alert.priority !== 'P1') {
    const before = await store.outbox.callsSince(person.id, nowMs - FLOOD.withinMs);
    if (before >= FLOOD.more) return flood();
  }
  // A push service takes what it is given even while the phone is off: what is urgent goes a second way too.
  if (alert.priority === 'P1' && first?.kind === 'push' && second !== undefined)
    return [row(first), row(second)];
  return [row(first)];

  async function flood(): Promise<readonly NewCall[]> {
    const recent = await store.outbox.list({
      personId: person.id,
      states: ['due', 'no-channel'],
      fromMs: nowMs - FLOOD.withinMs,
      limit: 100,
    });
    const place = siteName === '' ? alert.text.sentence : siteName;
    const known = recent.find(({ kind }) => kind === 'flood')?.body;
    const alerts = [...new Set([...(known?.alerts ?? []), alert.id])];
    const places = [...new Set([...placesOf(known), place])];
    const body: CallBody = {
      subject: `${alerts.length} more alerts`,
      text: floodMessage(alerts.length, places),
      alerts,
      places,
    };
    if (known !== undefined && (await store.outbox.widenFlood(person.id, body))) return [];
    return [
      {
        ...row(first),
        key: callKey(['flood', alert.id, step, person.id]),
        kind: 'flood',
        dueAtMs: Math.max(atMs, nowMs + FLOOD_HOLD_MS),
        body,
      },
    ];
  }
}

const placesOf = (body: CallBody | undefined): readonly string[] =>
  Array.isArray(body?.['places']) ? (body['places'] as readonly string[]) : [];

export const wayOf = (channel: PersonChannel) => ({
  id: channel.id,
  kind: channel.kind,
  breaker: breakerOf(channel.kind, channel.address),
});

/** What is urgent and did not get out within a minute goes by the person's next way. */
async function takeOtherWays({ store, now, kinds }: CallDeps): Promise<void> {
  const stuck = await store.outbox.stuckUrgent(now() - FALLBACK_AFTER_MS);
  if (stuck.length === 0) return;
  const people = await store.people.list();
  const rows = stuck.flatMap((row) => otherWay(row, people, kinds));
  await store.outbox.add(rows, now());
}

function otherWay(
  row: OutboxRow,
  people: readonly Person[],
  kinds: readonly ChannelKind[],
): readonly NewCall[] {
  const person = people.find(({ id }) => id === row.personId);
  if (person === undefined || row.alertId === undefined) return [];
  const next = usableChannels(person, kinds).find(({ kind }) => kind !== row.channelKind);
  if (next === undefined) return [];
  return [
    {
      key: callKey([row.alertId, row.step, next.id, person.id]),
      kind: 'call',
      alertId: row.alertId,
      step: row.step,
      priority: row.priority,
      personId: person.id,
      channel: wayOf(next),
      dueAtMs: row.createdAtMs,
      giveUpAtMs: row.createdAtMs + DAY_MS,
      body: row.body,
    },
  ];
}
