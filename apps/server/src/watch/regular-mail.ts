import {
  dutiesBetween,
  handOverNote,
  morningLetter,
  nextLocalMinute,
  rotaGaps,
  type RotaFacts,
} from '@duskline/alerts';
import {
  byCause,
  DAY_MS,
  fleetSentence,
  HOUR_MS,
  isAboutFleet,
  roleAllows,
  type Alert,
  type Person,
  type Site,
  type SiteId,
  type SiteView,
} from '@duskline/domain';
import { callKey } from '@duskline/notify';
import type { NewCall, Store } from '@duskline/store';
import { rotaFacts, wayOf, type CallDeps } from './call-people.ts';
import { usableChannels } from './ways-out.ts';

const MORNING_MINUTE = 7 * 60;
const TEST_MINUTE = 10 * 60;
const MONDAY = 1;
/** A server that was down at seven still writes until ten. */
const LATE_MS = 3 * HOUR_MS;

/**
 * What is sent by the clock: a letter at each person's 07:00 where something waits, a test message to every channel on Monday
 * at their 10:00, and what happened to whoever comes on call. Repeating it sends nothing twice: the key holds the day.
 */
export async function writeRegularMail(deps: CallDeps): Promise<number> {
  const facts = await rotaFacts(deps.store);
  const nowMs = deps.now();
  const people = facts.people.filter(
    ({ endedAtMs, role }) => endedAtMs === undefined && roleAllows(role, 'handle-alerts'),
  );
  const rows = [
    ...people.flatMap((person) => testRows(deps, person, nowMs)),
    ...(await letterRows(deps, facts, { people, nowMs })),
    ...(await handOverRows(deps, facts, nowMs)),
  ];
  return rows.length === 0 ? 0 : deps.store.outbox.add(rows, nowMs);
}

/** The last time that person's clock showed that minute, if it was within the last three hours. */
function justNow(person: Person, minute: number, nowMs: number): number | undefined {
  const atMs = nextLocalMinute(person, nowMs - LATE_MS, minute);
  return atMs <= nowMs ? atMs : undefined;
}

const dayOf = (atMs: number, timeZone: string): string =>
  new Intl.DateTimeFormat('sv-SE', { timeZone }).format(atMs);

function testRows({ kinds }: CallDeps, person: Person, nowMs: number): readonly NewCall[] {
  const atMs = justNow(person, TEST_MINUTE, nowMs);
  if (atMs === undefined) return [];
  const day = dayOf(atMs, person.timeZone);
  if (new Date(`${day}T12:00:00Z`).getUTCDay() !== MONDAY) return [];
  return usableChannels(person, kinds).map((channel) => testRow(person, channel, { atMs, day }));
}

/** @param day makes it the same message when it is written again */
export const testRow = (
  person: Person,
  channel: Person['channels'][number],
  { atMs, day }: { readonly atMs: number; readonly day: string },
): NewCall => ({
  key: callKey(['test', channel.id, day]),
  kind: 'test',
  step: 0,
  priority: 'P3',
  personId: person.id,
  channel: wayOf(channel),
  dueAtMs: atMs,
  giveUpAtMs: atMs + DAY_MS,
  body: {
    subject: 'Test message: this way works',
    text: `This is the test of this way to reach you, ${person.name}. You need do nothing. If it did not make a sound, look at the phone now rather than at night.`,
  },
});

interface Scene {
  readonly open: readonly Alert[];
  readonly sites: ReadonlyMap<SiteId, Site>;
}

const sceneOf = async (store: Store): Promise<Scene> => {
  const [open, sites] = await Promise.all([store.alerts.listOpen(), store.sites.list()]);
  // A cause is one line, whatever joined it.
  return {
    open: byCause(open).map(({ alert }) => alert),
    sites: new Map(sites.map((site) => [site.id, site])),
  };
};

const named = ({ sites }: Scene, alerts: readonly Alert[]) =>
  alerts.map((alert) => ({
    alert,
    siteName: isAboutFleet(alert) ? '' : (sites.get(alert.siteId)?.name ?? alert.siteId),
  }));

async function letterRows(
  { store, kinds }: CallDeps,
  facts: RotaFacts,
  { people, nowMs }: { readonly people: readonly Person[]; readonly nowMs: number },
): Promise<readonly NewCall[]> {
  const due = people.flatMap((person) => {
    const atMs = justNow(person, MORNING_MINUTE, nowMs);
    const channel = usableChannels(person, kinds).find(({ kind }) => kind === 'email');
    return atMs === undefined || channel === undefined ? [] : [{ person, atMs, channel }];
  });
  if (due.length === 0) return [];
  const scene = await sceneOf(store);
  const views = await store.views.fleet();
  const events = await recentEvents(store, scene, nowMs - DAY_MS, nowMs);
  const range = { fromMs: nowMs, toMs: nowMs + 7 * DAY_MS };
  const gaps = rotaGaps(facts.shifts, facts.groups, range);
  return due.flatMap(({ person, atMs, channel }) => {
    const sees = (siteId: SiteId) =>
      person.role !== 'volunteer' ||
      person.groups.length === 0 ||
      facts.groups.some(
        (group) => person.groups.includes(group.id) && group.siteIds.includes(siteId),
      );
    const open = scene.open.filter((alert) => isAboutFleet(alert) || sees(alert.siteId));
    const duty = dutiesBetween(facts.shifts, nowMs, nowMs + 7 * DAY_MS).find(
      ({ personId }) => personId === person.id,
    );
    const arranges = roleAllows(person.role, 'arrange-people');
    const mine = arranges ? gaps.map(({ says }) => says) : [];
    if (open.length === 0 && mine.length === 0) return [];
    const letter = morningLetter({
      name: person.name,
      timeZone: person.timeZone,
      nowMs,
      fleetSentence: sentenceOf(
        views.filter(({ site }) => sees(site.id)),
        nowMs,
      ),
      open: named(scene, open),
      events: events.filter(({ event }) => sees(event.siteId)),
      ...(duty === undefined ? {} : { duty }),
      gaps: mine,
    });
    return [
      {
        key: callKey(['letter', person.id, dayOf(atMs, person.timeZone)]),
        kind: 'letter' as const,
        step: 0,
        priority: 'P3' as const,
        personId: person.id,
        channel: wayOf(channel),
        dueAtMs: atMs,
        giveUpAtMs: atMs + 12 * HOUR_MS,
        body: letter,
      },
    ];
  });
}

const OVER: readonly Alert['state'][] = ['ended', 'ended-unseen'];

function sentenceOf(views: readonly SiteView[], nowMs: number): string {
  const { first, second } = fleetSentence(
    views.map(({ site, verdict, alerts, outlook }) => ({
      name: site.name,
      timeZone: site.timeZone,
      state: verdict?.state ?? 'not-yet-proved',
      alertsToActOn: alerts.filter(({ state }) => !OVER.includes(state) && state !== 'paused')
        .length,
      ...(outlook?.kind !== 'empties-in'
        ? {}
        : {
            clearUntilMs: outlook.issuedAtMs + outlook.p10Days * DAY_MS,
            ...(outlook.p90Days === undefined
              ? {}
              : {
                  stops: {
                    fromMs: outlook.issuedAtMs + outlook.p10Days * DAY_MS,
                    toMs: outlook.issuedAtMs + outlook.p90Days * DAY_MS,
                  },
                }),
          }),
    })),
    nowMs,
  );
  return [first, second].filter((text) => text !== '').join(' ');
}

async function recentEvents(store: Store, { sites }: Scene, fromMs: number, toMs: number) {
  const lists = await Promise.all(
    [...sites.values()].map(async (site) =>
      (await store.events.list(site.id, { fromMs, toMs, limit: 5 })).map((event) => ({
        event,
        siteName: site.name,
      })),
    ),
  );
  return lists
    .flat()
    .sort((a, b) => b.event.atMs - a.event.atMs)
    .slice(0, 30);
}

/** What happened in the last week and what is open, for whoever comes on call. */
export async function writeHandOverNote(
  store: Store,
  nowMs: number,
  timeZone: string,
): Promise<string> {
  const scene = await sceneOf(store);
  const week = await store.alerts.between(nowMs - 7 * DAY_MS, nowMs);
  const openIds = new Set(scene.open.map(({ id }) => id));
  return handOverNote({
    timeZone,
    open: named(scene, scene.open),
    ended: named(
      scene,
      week.filter(({ id, endedAtMs }) => endedAtMs !== undefined && !openIds.has(id)).slice(-40),
    ),
    events: await recentEvents(store, scene, nowMs - 7 * DAY_MS, nowMs),
  });
}

async function handOverRows(
  { store, kinds }: CallDeps,
  { people, shifts }: RotaFacts,
  nowMs: number,
): Promise<readonly NewCall[]> {
  const begun = dutiesBetween(shifts, nowMs - LATE_MS, nowMs).filter(
    ({ fromMs }) => fromMs > nowMs - LATE_MS && fromMs <= nowMs,
  );
  const rows = await Promise.all(
    begun.map(async (duty) => {
      const person = people.find(({ id }) => id === duty.personId);
      if (person === undefined) return [];
      const channel = usableChannels(person, kinds).find(({ kind }) => kind === 'email');
      if (channel === undefined) return [];
      const text = await writeHandOverNote(store, nowMs, person.timeZone);
      return [
        {
          key: callKey(['hand-over', duty.shiftId, duty.start, person.id]),
          kind: 'hand-over-note' as const,
          step: 0,
          priority: 'P3' as const,
          personId: person.id,
          channel: wayOf(channel),
          dueAtMs: nowMs,
          giveUpAtMs: nowMs + 12 * HOUR_MS,
          body: { subject: 'You are on call from now', text },
        },
      ];
    }),
  );
  return rows.flat();
}
