import type { SessionFilters } from './consumer-session.ts';

const shared = (kind: string): string => `$share/duskline/v1/+/up/${kind}`;

const LIVE = [shared('live'), shared('state')];
const BACKLOG = [shared('backlog')];
/** What one consumer by itself subscribes to; the first slot may have been one before. */
const ALONE = 'v1/+/up/#';

/**
 * What a slot subscribes to. Slots with an even number share the fresh messages, the others the past: each slot has a queue
 * of its own at the broker, so a month of backlog stands in front of no fresh reading. A slot that is no longer wanted
 * subscribes to nothing; it is still connected, to empty what the broker had put in its queue.
 */
export function slotFilters(slot: number, slots: number): SessionFilters {
  const wanted = wantedOf(slot, slots);
  const unwanted = [ALONE, ...LIVE, ...BACKLOG].filter((filter) => !wanted.includes(filter));
  return { wanted, unwanted };
}

function wantedOf(slot: number, slots: number): readonly string[] {
  if (slot >= slots) return [];
  if (slots === 1) return [...LIVE, ...BACKLOG];
  return slot % 2 === 0 ? LIVE : BACKLOG;
}
