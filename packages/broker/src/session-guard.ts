import type { NodeName } from '@duskline/domain';
import { whyNotSubscribe } from './access-rules.ts';

const MAX_UNACKNOWLEDGED = 1000;

interface SessionClient {
  readonly id: string;
}
interface QueuedFor {
  readonly clientId: string;
}
/** The part of aedes' session store that is guarded (aedes-persistence 11). */
export interface SessionStore {
  addSubscriptions(
    client: SessionClient,
    subscriptions: readonly { readonly topic: string }[],
  ): Promise<void>;
  outgoingEnqueueCombi(clients: readonly QueuedFor[], packet: object): Promise<void>;
  outgoingClearMessageId(client: SessionClient, packet: object): Promise<unknown>;
}

/**
 * Closes two gaps of the broker's session store.
 *
 * - aedes keeps *every* filter of a SUBSCRIBE for a persistent session as soon as *one* of them is granted (seen in 1.2.0,
 *   lib/handlers/subscribe.js `storeSubscriptions`), and would queue other nodes' messages under the refused ones.
 * - A node that takes messages but never acknowledges them would have them kept for ever. Beyond a thousand nothing more
 *   is queued for it; the broker then drops its connection, and the thousand wait for its return.
 */
export function guardSessions(store: SessionStore): void {
  const add = store.addSubscriptions.bind(store);
  const enqueue = store.outgoingEnqueueCombi.bind(store);
  const clear = store.outgoingClearMessageId.bind(store);
  const queued = new Map<string, number>();

  store.addSubscriptions = (client, subscriptions) =>
    add(
      client,
      subscriptions.filter(
        ({ topic }) => whyNotSubscribe(client.id as NodeName, topic) === undefined,
      ),
    );

  store.outgoingEnqueueCombi = (clients, packet) => {
    const keepingUp = clients.filter(
      ({ clientId }) => (queued.get(clientId) ?? 0) < MAX_UNACKNOWLEDGED,
    );
    for (const { clientId } of keepingUp) queued.set(clientId, (queued.get(clientId) ?? 0) + 1);
    return enqueue(keepingUp, packet);
  };

  store.outgoingClearMessageId = async (client, packet) => {
    const cleared = await clear(client, packet);
    const left = (queued.get(client.id) ?? 0) - 1;
    if (cleared !== undefined && left > 0) queued.set(client.id, left);
    else if (cleared !== undefined) queued.delete(client.id);
    return cleared;
  };
}
