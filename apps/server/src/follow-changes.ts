import {
  alertJson,
  createAuthenticator,
  createFleetReader,
  sessionCookie,
  type ApiDeps,
} from '@duskline/api';
import { nodeId, type Account, type Alert, type NodeId } from '@duskline/domain';
import { nightsBetween } from '@duskline/energy';
import { createLive } from '@duskline/live';
import type { Store } from '@duskline/store';
import type { Server } from 'node:http';
import type { Logger } from 'pino';
import type { Clock } from './clock.ts';

export interface ChangeFollower {
  /** An alert was taken or seen by a person. */
  readonly onAlert: (alert: Alert) => Promise<void>;
  readonly onSessionEnd: (account: Account) => void;
  readonly stop: () => Promise<void>;
}

/** The channel on which a commit of the pipeline names the node it changed. */
const CHANNEL = 'duskline_live';

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

  async function publish(id: NodeId): Promise<void> {
    const view = await store.views.ofNode(id);
    if (view === undefined) return;
    const row = await reader.row(view.site.id, clock.now());
    if (row !== undefined) live.publishRow(row);
  }
  const stopListening = await store.listen(
    CHANNEL,
    (payload) => {
      publish(nodeId(Number(payload))).catch((cause: unknown) =>
        log.error({ cause, payload }, 'a changed row could not be read'),
      );
    },
    () => live.resync(),
  );

  return {
    async onAlert(alert) {
      const site = await store.sites.find(alert.siteId);
      live.publishAlert(alertJson(alert, site?.name ?? alert.siteId));
      await publish(alert.nodeId);
    },
    onSessionEnd: (account) => live.endSession(account),
    async stop() {
      await stopListening();
      await live.close();
    },
  };
}
