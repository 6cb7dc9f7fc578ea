import {
  alertHealth,
  dutiesBetween,
  faultOfShift,
  delaySettings,
  fleetRules,
  rotaGaps,
  rules,
} from '@duskline/alerts';
import type { RuleWords, WatchPorts } from '@duskline/api';
import { DAY_MS, isAboutFleet, MINUTE_MS } from '@duskline/domain';
import { faultOfAddress, newWebhookSecret } from '@duskline/notify';
import type { Store } from '@duskline/store';
import { rotaFacts } from './call-people.ts';
import { testRow, writeHandOverNote } from './regular-mail.ts';
import type { WaysOut } from './ways-out.ts';

/** What the pages Watch, Rota and Setup work with. */
export function createWatchDesk(
  store: Store,
  { waysOut, now }: { readonly waysOut: WaysOut; readonly now: () => number },
): WatchPorts {
  return {
    ...store,
    rules: ruleWords,
    rotaBetween: (shifts, groups, range) => ({
      duties: dutiesBetween(shifts, range.fromMs, range.toMs),
      gaps: rotaGaps(shifts, groups, range),
    }),
    faultOfShift,
    async handOverNote(nowMs) {
      const [shift] = await store.rota.shifts();
      return writeHandOverNote(store, nowMs, shift?.timeZone ?? 'UTC');
    },
    alertHealth: (nowMs, days) => healthOf(store, nowMs, days),
    waysOut: waysOut.kinds,
    pushKey: waysOut.pushKey,
    faultOfAddress: (kind, address) => faultOfAddress(kind, address, waysOut.guard),
    newWebhookSecret,
    async sendTest(person, channel) {
      const atMs = now();
      await store.outbox.add([testRow(person, channel, { atMs, day: String(atMs) })], atMs);
    },
  };
}

const ruleWords: readonly RuleWords[] = [
  ...rules.map((rule) => ({ ...wordsOf(rule), aboutFleet: false })),
  ...fleetRules.map((rule) => ({ ...wordsOf(rule), aboutFleet: true })),
];

function wordsOf(
  rule: Omit<RuleWords, 'aboutFleet'> & Pick<(typeof rules)[number], 'onDelay' | 'offDelay'>,
) {
  const { key, name, why, who, settings } = rule;
  return { key, name, why, who, settings: { ...settings, ...delaySettings(rule) } };
}

const BY_PEOPLE: readonly string[] = ['take', 'hand-over', 'pause', 'note', 'seen'];

async function healthOf(store: Store, nowMs: number, days: number) {
  const fromMs = nowMs - days * DAY_MS;
  const [facts, touched, open, sites, rows] = await Promise.all([
    rotaFacts(store),
    store.alerts.between(fromMs, nowMs),
    store.alerts.listOpen(),
    store.sites.list(),
    store.outbox.list({ states: ['sent'], fromMs, limit: 10_000 }),
  ]);
  const alerts = touched.filter(({ openedAtMs }) => openedAtMs >= fromMs);
  const told = rows.filter(({ kind }) => kind === 'call' || kind === 'flood');
  const acted = new Set<string>();
  for (const id of new Set(told.flatMap(({ alertId }) => alertId ?? [])))
    if ((await store.alerts.history(id)).some(({ kind }) => BY_PEOPLE.includes(kind)))
      acted.add(id);
  const names = new Map(sites.map((site) => [site.id, site.name]));
  const health = alertHealth({
    fromMs,
    toMs: nowMs,
    alerts,
    open,
    messages: told.map(({ personId, alertId, settledAtMs, createdAtMs, step }) => ({
      personId,
      ...(alertId === undefined ? {} : { alertId }),
      sentAtMs: settledAtMs ?? createdAtMs,
      step,
    })),
    actedOn: acted,
    duties: dutiesBetween(facts.shifts, fromMs, nowMs),
    people: facts.people,
    placeOf: (alert) =>
      isAboutFleet(alert) ? 'the fleet' : (names.get(alert.siteId) ?? alert.siteId),
  });
  const minutes = (ms: number | null) => (ms === null ? null : ms / MINUTE_MS);
  return {
    from: new Date(fromMs).toISOString(),
    to: new Date(nowMs).toISOString(),
    alerts: health.alerts,
    figures: health.figures.map((figure) => ({ ...figure })),
    byPerson: health.byPerson.map((one) => ({
      person: one.person,
      pushesPerOnCallDay: one.pushesPerOnCallDay,
      nightWakeUpsPerWeek: one.nightWakeUpsPerWeek,
      messages: one.messages,
    })),
    topTen: health.topTen,
    chattering: health.chattering,
    stale: health.stale,
    priorities: health.priorities.map(
      ({ priority, alerts: count, share, takenP50Ms, takenP90Ms }) => ({
        priority,
        alerts: count,
        share,
        takenP50Minutes: minutes(takenP50Ms),
        takenP90Minutes: minutes(takenP90Ms),
      }),
    ),
  };
}
