import type { MessagePlace } from '@duskline/domain';
import type { Rejected } from '@duskline/intake';
import type { Store } from '@duskline/store';

/**
 * Keeps a message that could not be accepted, and remembers who sent it when that is no node here.
 *
 * @returns everything of that boot up to this place is settled
 */
export async function keepInQuarantine(
  store: Pick<Store, 'quarantine'>,
  rejected: Rejected,
): Promise<MessagePlace | undefined> {
  const { node, fault, packet } = rejected;
  const ack = await store.quarantine.add(rejected);
  if (node !== undefined && fault.code === 'node-unknown')
    await store.quarantine.noteUnknownNode(node, packet.receivedAtMs);
  return ack;
}
