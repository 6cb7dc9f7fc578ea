import type { SessionFilters } from './consumer-session.ts';

const LIVE = ['v1/+/up/live', 'v1/+/up/state'];
const BACKLOG = ['v1/+/up/backlog'];
/** What sessions of earlier versions may be subscribed to: a consumer by itself, and slots that shared. */
const OUTDATED = [
  'v1/+/up/#',
  ...['live', 'state', 'backlog'].map((kind) => `$share/duskline/v1/+/up/${kind}`),
];

/** Queues at the broker: the fresh messages, and the past. */
export const MOST_SLOTS = 2;

/**
 * What a slot subscribes to. The first has the fresh messages, the second the past: each has a queue of its own at the
 * broker, so a month of backlog stands in front of no fresh reading. A slot that is no longer wanted subscribes to nothing;
 * it is still connected, to empty what the broker had put in its queue.
 *
 * Never by `$share`: Mosquitto forgets shared subscriptions when it restarts, and what plain nodes publish until the server
 * is back is then acknowledged and kept by nobody.
 */
export function slotFilters(slot: number, slots: number): SessionFilters {
  const wanted = wantedOf(slot, slots);
  const unwanted = [...OUTDATED, ...LIVE, ...BACKLOG].filter((filter) => !wanted.includes(filter));
  return { wanted, unwanted };
}

function wantedOf(slot: number, slots: number): readonly string[] {
  if (slot >= Math.min(slots, MOST_SLOTS)) return [];
  if (slots === 1) return [...LIVE, ...BACKLOG];
  return slot === 0 ? LIVE : BACKLOG;
}
