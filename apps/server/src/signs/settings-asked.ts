import type { HousekeepingFigures } from '@duskline/alerts';
import type { FieldNode, NodeId, StateVerdict } from '@duskline/domain';
import type { Store } from '@duskline/store';
import { sayRequest } from '../settings-desk.ts';

type Figure = NonNullable<HousekeepingFigures['settingsRequest']>;

/** The states in which a node is heard and could have said that it follows. */
const HEARD: readonly StateVerdict['state'][] = ['up', 'low', 'not-yet-proved'];

/**
 * The newest wish about a node's settings, whether it is in force, and since when it could have been heard.
 *
 * Thrift whose date has passed is over: nothing is outstanding, and the settings changed on that date. A refusal is not in
 * force, whatever the node does instead.
 */
export async function settingsAsked(
  store: Pick<Store, 'settingsRequests' | 'intervals'>,
  about: {
    readonly node: FieldNode;
    readonly nowMs: number;
    readonly lastHeardAtMs?: number;
    readonly timeZone: string;
  },
): Promise<Figure | undefined> {
  const { node, nowMs, lastHeardAtMs, timeZone } = about;
  const [[asked], said] = await Promise.all([
    store.settingsRequests.list(node.id, 1),
    store.settingsRequests.inForce(node.id),
  ]);
  if (asked === undefined) return undefined;
  const { request, askedAtMs, answeredAtMs } = asked;
  const says = `Asked to ${sayRequest(request, timeZone)}`;
  const { thriftUntilMs, logEveryS, publishEveryS } = request;
  if (thriftUntilMs !== undefined && thriftUntilMs <= nowMs)
    return { requestedAtMs: thriftUntilMs, inForce: true, says };
  const inForce =
    answeredAtMs !== undefined &&
    said?.settings.id === request.id &&
    said.settings.refusal === undefined &&
    (logEveryS === undefined || said.settings.logEveryS === logEveryS) &&
    (publishEveryS === undefined || said.settings.publishEveryS === publishEveryS);
  const contactAtMs = await firstContact(store, node.id, { askedAtMs, nowMs, lastHeardAtMs });
  return {
    requestedAtMs: askedAtMs,
    inForce,
    says,
    ...(contactAtMs === undefined ? {} : { firstContactAtMs: contactAtMs }),
  };
}

async function firstContact(
  store: Pick<Store, 'intervals'>,
  node: NodeId,
  about: {
    readonly askedAtMs: number;
    readonly nowMs: number;
    readonly lastHeardAtMs: number | undefined;
  },
): Promise<number | undefined> {
  const { askedAtMs, nowMs, lastHeardAtMs = 0 } = about;
  if (lastHeardAtMs < askedAtMs) return undefined;
  const intervals = await store.intervals.list(node, askedAtMs, nowMs);
  const heard = intervals.find(({ state }) => HEARD.includes(state));
  return heard === undefined ? undefined : Math.max(askedAtMs, heard.fromMs);
}
