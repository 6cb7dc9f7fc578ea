import type { MessagePlace } from '@duskline/domain';
import { blameFor } from './blame.ts';
import type { Rejected } from './rejected.ts';

/** Keeps messages of one node, all or none. @returns for each: everything of its boot up to this place is settled */
export type KeepAside = (
  rejected: readonly Rejected[],
) => Promise<readonly (MessagePlace | undefined)[]>;

/** Commits at once: a storm of bad messages leaves connections for the good ones. */
const AT_ONCE = 2;
const MOST_TOGETHER = 250;

interface Waiting {
  readonly rejected: Rejected;
  readonly done: (place: MessagePlace | undefined) => void;
  readonly failed: (cause: unknown) => void;
}

/**
 * Keeps bad messages, those of one node together in one commit: while one is under way the next gathers. By node, because the
 * count of a node's day is one row, and so that two commits never hold each other's rows.
 *
 * @returns keeps one; rejects when it could not be kept
 */
export function createSetAside(
  keep: KeepAside,
): (rejected: Rejected) => Promise<MessagePlace | undefined> {
  const waiting = new Map<string, Waiting[]>();
  const busy = new Set<string>();

  function next(): void {
    for (const key of waiting.keys()) {
      if (busy.size >= AT_ONCE) return;
      if (busy.has(key)) continue;
      const all = waiting.get(key) ?? [];
      const group = all.splice(0, MOST_TOGETHER);
      // At the end of the row: another node's storm has its turn first.
      waiting.delete(key);
      if (all.length > 0) waiting.set(key, all);
      busy.add(key);
      void keepGroup(group, keep).finally(() => {
        busy.delete(key);
        next();
      });
    }
  }

  return (rejected) =>
    new Promise((done, failed) => {
      const key = rejected.node ?? '';
      const group = waiting.get(key) ?? [];
      group.push({ rejected, done, failed });
      waiting.set(key, group);
      next();
    });
}

/** When one of them is what the store chokes on, each is tried by itself; when the database is away, none is. */
async function keepGroup(group: readonly Waiting[], keep: KeepAside): Promise<void> {
  try {
    const places = await keep(group.map(({ rejected }) => rejected));
    group.forEach(({ done }, i) => done(places[i]));
  } catch (cause) {
    if (group.length === 1 || blameFor(cause) === 'database') {
      for (const { failed } of group) failed(cause);
      return;
    }
    for (const one of group) await keepGroup([one], keep);
  }
}
