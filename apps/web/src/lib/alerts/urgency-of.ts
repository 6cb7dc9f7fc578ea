import type { AlertJson } from '@duskline/contract';
import type { AlertState, Priority } from '@duskline/domain';

const isOver = (state: AlertState): boolean => state === 'ended' || state === 'ended-unseen';

/** What other rules see of the same cause and what still holds of it. */
export const stillAlso = (alert: AlertJson): AlertJson['also'] =>
  alert.also.filter(({ state }) => !isOver(state));

/** How soon its cause wants somebody: the most urgent of all that is seen of it. */
export const urgencyOf = (alert: AlertJson): Priority =>
  stillAlso(alert).reduce<Priority>(
    (most, { priority }) => (priority < most ? priority : most),
    alert.priority,
  );
