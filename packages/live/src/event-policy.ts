import type { ClientEvents } from '@duskline/contract';
import type { Permission } from '@duskline/domain';

/** What every event from a page asks of its sender. One that is not here cannot be registered. */
export const eventPolicy: Readonly<Record<keyof ClientEvents, Permission>> = {
  'watch-fleet': 'read',
};

/** A handler was given for an event that nobody declared: the program does not start. */
export class EventWithoutPolicyError extends Error {
  readonly code = 'LIVE_EVENT_WITHOUT_POLICY';

  constructor(event: string) {
    super(`The event ${event} is not declared in event-policy.ts: say who may send it.`);
    this.name = 'EventWithoutPolicyError';
  }
}

/** What answers one event. `done` answers the sender. */
export type EventHandler<Socket> = (socket: Socket, done: () => void) => Promise<void> | void;

/** A handler with what it asks of the sender. */
export interface GuardedHandler<Socket> {
  readonly allow: Permission;
  readonly handle: EventHandler<Socket>;
}

/**
 * Joins handlers to the policy.
 *
 * @throws EventWithoutPolicyError for an event the policy does not name
 */
export function guardEvents<Socket>(
  handlers: Readonly<Record<string, EventHandler<Socket>>>,
  policy: Readonly<Record<string, Permission>> = eventPolicy,
): ReadonlyMap<string, GuardedHandler<Socket>> {
  return new Map(
    Object.entries(handlers).map(([event, handle]) => {
      const allow = Object.hasOwn(policy, event) ? policy[event] : undefined;
      if (allow === undefined) throw new EventWithoutPolicyError(event);
      return [event, { allow, handle }];
    }),
  );
}
