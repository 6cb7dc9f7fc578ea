import type { MessagePlace } from '@duskline/domain';
import type { Rejected } from '@duskline/intake';
import type { Store } from '@duskline/store';

/**
 * Keeps messages that could not be accepted, all or none, and remembers who sent them when that is no node here.
 *
 * @returns for each: everything of its boot up to this place is settled
 */
export async function keepInQuarantine(
  store: Pick<Store, 'quarantine'>,
  rejected: readonly Rejected[],
): Promise<readonly (MessagePlace | undefined)[]> {
  const acks = await store.quarantine.addAll(rejected);
  for (const { node, fault, packet } of rejected)
    if (node !== undefined && fault.code === 'node-unknown')
      await store.quarantine.noteUnknownNode(node, packet.receivedAtMs);
  return acks;
}
