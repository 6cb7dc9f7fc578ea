import type { SettingsPort } from '@duskline/api';
import {
  MINUTE_MS,
  SECOND_MS,
  sayMoment,
  type AcceptedMessage,
  type FieldNode,
  type SettingsRequest,
} from '@duskline/domain';
import type { Store } from '@duskline/store';
import type { Line } from './open-line.ts';

const REQUESTS_SHOWN = 20;

/** What nodes are asked to do otherwise: kept first, sent afterwards, so that a broker that forgot can be told again. */
export function createSettingsDesk({
  store,
  send,
  now,
}: {
  readonly store: Store;
  readonly send: Line['sendSettings'];
  readonly now: () => number;
}): SettingsPort {
  return {
    async story(nodeId) {
      const [inForce, requests] = await Promise.all([
        store.settingsRequests.inForce(nodeId),
        store.settingsRequests.list(nodeId, REQUESTS_SHOWN),
      ]);
      return { ...(inForce === undefined ? {} : { inForce }), requests };
    },
    async ask(node, request, by) {
      const askedAtMs = now();
      await store.settingsRequests.ask(node.id, { request, askedAtMs, askedBy: by.name });
      send(node.name, request);
      await store.events.add({
        siteId: node.siteId,
        nodeId: node.id,
        atMs: askedAtMs,
        kind: 'settings',
        sentence: `Asked ${node.name} to ${sayRequest(request, await zoneOf(store, node))}.`,
        by: by.name,
      });
    },
  };
}

/** A broker of ours keeps nothing over a restart, and an outside one may have lost it: the same request again changes nothing. */
export async function sendSettingsAgain(store: Store, send: Line['sendSettings']): Promise<void> {
  for (const { name, request } of await store.settingsRequests.newest()) send(name, request);
}

/**
 * Keeps what nodes say of their settings, and writes it into the logbook where it is news. Inside the acknowledgement:
 * it is said once, and again only at the node's next connection.
 */
export async function takeSettings(
  store: Store,
  messages: readonly AcceptedMessage[],
): Promise<void> {
  for (const { node: name, settings, receivedAtMs } of messages) {
    if (settings === undefined) continue;
    const outcome = await store.settingsRequests.confirm(name, settings, receivedAtMs);
    const node = outcome?.isNews === true ? await store.nodes.find(outcome.nodeId) : undefined;
    if (node === undefined) continue;
    const zone = await zoneOf(store, node);
    await store.events.add({
      siteId: node.siteId,
      nodeId: node.id,
      atMs: receivedAtMs,
      kind: 'settings',
      sentence:
        `${name} says that it does this now: ${sayRequest(settings, zone)}.` +
        (settings.refusal === undefined ? '' : ` Not followed: ${settings.refusal}.`),
    });
  }
}

const zoneOf = async (store: Store, { siteId }: FieldNode): Promise<string> =>
  (await store.sites.find(siteId))?.timeZone ?? 'UTC';

/** "log every 10 min and publish every 60 min until Wed 9 Dec 00:00". */
export function sayRequest(
  { logEveryS, publishEveryS, thriftUntilMs }: Omit<SettingsRequest, 'id'>,
  timeZone: string,
): string {
  const asked = [
    ...(logEveryS === undefined ? [] : [`log every ${saySeconds(logEveryS)}`]),
    ...(publishEveryS === undefined ? [] : [`publish every ${saySeconds(publishEveryS)}`]),
  ];
  const until = thriftUntilMs === undefined ? '' : ` until ${sayMoment(thriftUntilMs, timeZone)}`;
  return asked.length === 0 ? 'go by its own configuration' : `${asked.join(' and ')}${until}`;
}

const saySeconds = (lengthS: number): string =>
  lengthS % 60 === 0 ? `${(lengthS * SECOND_MS) / MINUTE_MS} min` : `${lengthS} s`;
