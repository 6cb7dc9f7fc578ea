import {
  alertInItsCause,
  createAuthenticator,
  createFleetReader,
  rowWithoutPlace,
  sessionCookie,
  type ApiDeps,
} from '@duskline/api';
import type { PlanNewsJson } from '@duskline/contract';
import { nodeId, type Account, type Alert, type NodeId } from '@duskline/domain';
import { nightsBetween } from '@duskline/energy';
import { createLive } from '@duskline/live';
import type { Store } from '@duskline/store';
import type { Server } from 'node:http';
import type { Logger } from 'pino';
import type { Clock } from './clock.ts';
import { gatherNodes } from './gather-nodes.ts';

export interface ChangeFollower {
  /** An alert was taken or seen by a person. */
  readonly onAlert: (alert: Alert) => Promise<void>;
  readonly onSessionEnd: (account: Account) => void;
  readonly stop: () => Promise<void>;
}

/** The channel on which a commit of the pipeline names the node it changed. */
const CHANNEL = 'duskline_live';
/** The channel on which the store says that a visit was planned or reported, or duties changed. */
const PLANS_CHANNEL = 'duskline_plans';
/** A change waits this long for others: nobody sees it, and a flood becomes a few questions. */
const GATHER_MS = 50;

/**
 * Takes what the pipeline committed to the pages that are open, whichever server committed it: the store names the node,
 * the row is read anew, the socket carries it. After a lost connection every page is told to ask again.
 */
export async function followChanges(
  server: Server,
  {
    store,
    clock,
    log,
    door,
  }: {
    readonly store: Store;
    readonly clock: Clock;
    readonly log: Logger;
    readonly door: ApiDeps['door'];
  },
): Promise<ChangeFollower> {
  const reader = createFleetReader({ views: store.views, nightsBetween });
  const authenticate = createAuthenticator(store.accounts, sessionCookie(door));
  const live = createLive({
    server,
    authenticate,
    ...(door.origins === undefined ? {} : { origins: door.origins }),
  });

  async function publish(ids: readonly NodeId[]): Promise<void> {
    const rows = await reader.rows(await store.views.ofNodes(ids), clock.now());
    // To everybody alike, so without the exact place: a page keeps what it was told when it asked.
    for (const row of rows) live.publishRow(rowWithoutPlace(row));
  }
  const changed = gatherNodes({
    waitMs: GATHER_MS,
    handOn: publish,
    onFault: (cause) => log.error({ cause }, 'changed rows could not be read'),
  });
  const stopListening = await Promise.all([
    store.listen(
      CHANNEL,
      (payload) => changed.add(nodeId(Number(payload))),
      () => live.resync(),
    ),
    store.listen(
      PLANS_CHANNEL,
      (payload) => live.publishPlans(planNews(payload)),
      () => live.resync(),
    ),
  ]);

  return {
    async onAlert(alert) {
      const [site, open] = await Promise.all([
        store.sites.find(alert.siteId),
        store.alerts.open(alert.nodeId),
      ]);
      // A page holds one alert for each cause: a step on what joined one is told with the one it joined.
      const cause = open.find(({ id }) => id === alert.joins) ?? alert;
      live.publishAlert(alertInItsCause(cause, site?.name ?? alert.siteId, open));
      await publish([alert.nodeId]);
    },
    onSessionEnd: (account) => live.endSession(account),
    async stop() {
      await Promise.all(stopListening.map((stop) => stop()));
      await changed.stop();
      await live.close();
    },
  };
}

/** "visit rushy-sluice" or "rota", as the store says it. */
function planNews(payload: string): PlanNewsJson {
  const [kind, siteId] = payload.split(' ');
  return kind === 'visit' && siteId !== undefined ? { kind, siteId } : { kind: 'rota' };
}
