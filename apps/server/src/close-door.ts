import { SECOND_MS } from '@duskline/domain';
import type { Server } from 'node:http';

/** Answers under way get so long. */
const WITHIN_MS = 3 * SECOND_MS;

/**
 * Closes the HTTP door: nothing new comes in, what is being answered has a moment to end, and then every connection is cut.
 * Without that a connection that was opened and never asked anything (browsers open some ahead) holds a stop up until
 * Node's own check of unfinished requests, ninety seconds later.
 */
export async function closeDoor(
  door: {
    readonly server: Pick<Server, 'closeAllConnections'>;
    readonly close: () => Promise<unknown>;
  },
  withinMs = WITHIN_MS,
): Promise<void> {
  const cut = setTimeout(() => door.server.closeAllConnections(), withinMs);
  try {
    await door.close();
  } finally {
    clearTimeout(cut);
  }
}
