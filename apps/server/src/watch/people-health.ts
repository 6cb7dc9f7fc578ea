import { callChain, rotaGaps, wakingBetween } from '@duskline/alerts';
import { byCause, DAY_MS, isAboutFleet, USUAL_QUIET } from '@duskline/domain';
import type { Store } from '@duskline/store';
import type { OwnHealth } from '../fleet-look.ts';
import { tripsOut } from '../rounds/trips-out.ts';
import { rotaFacts } from './call-people.ts';

const GAP_AHEAD_MS = 7 * DAY_MS;

/** What the rules about the fleet want to know of people and messages: gaps ahead, what nobody took, what is not sent. */
export async function peopleHealth(
  store: Store,
  nowMs: number,
): Promise<
  Pick<OwnHealth, 'rotaGap' | 'untaken' | 'visitsOut'> & { readonly oldestUnsentMs?: number }
> {
  const [facts, open, sites, oldestUnsentMs, visitsOut] = await Promise.all([
    rotaFacts(store),
    store.alerts.listOpen(),
    store.sites.list(),
    store.outbox.oldestUnsentMs(nowMs),
    tripsOut(store),
  ]);
  const [gap] = rotaGaps(facts.shifts, facts.groups, {
    fromMs: nowMs,
    toMs: nowMs + GAP_AHEAD_MS,
  });
  // One for each cause; and an alert that nobody took one is not itself one more to be taken.
  const waiting = byCause(open)
    .map(({ alert }) => alert)
    .filter(
      ({ state, priority, rule }) =>
        state === 'new' && priority !== 'P3' && rule !== 'nobody-coming',
    );
  const untaken = waiting.map((alert) => {
    const site = sites.find(({ id }) => id === alert.siteId);
    const [first] = callChain(facts, {
      ...(isAboutFleet(alert) ? {} : { siteId: alert.siteId }),
      atMs: nowMs,
    });
    const sleeper = first ?? { quiet: USUAL_QUIET, timeZone: site?.timeZone ?? 'UTC' };
    return {
      alert,
      siteName: site?.name ?? 'the fleet',
      wakingMs:
        alert.priority === 'P1'
          ? nowMs - alert.openedAtMs
          : wakingBetween(sleeper, alert.openedAtMs, nowMs),
    };
  });
  return {
    untaken,
    visitsOut,
    ...(gap === undefined ? {} : { rotaGap: { fromMs: gap.fromMs, says: gap.says } }),
    ...(oldestUnsentMs === undefined ? {} : { oldestUnsentMs }),
  };
}
