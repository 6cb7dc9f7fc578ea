import type { Part } from '@duskline/domain';
import type { PartPort } from '../src/outlook-desk.ts';

/** Parts in memory: as much of their life as the routes need. */
export function rememberParts(): PartPort {
  const kept: Part[] = [];
  const put = (part: Omit<Part, 'id' | 'removedAtMs' | 'replacedBy'>): Promise<Part> => {
    const made = { ...part, id: String(kept.length + 1) };
    kept.push(made);
    return Promise.resolve(made);
  };
  return {
    list: () => Promise.resolve(kept),
    find: (id) => Promise.resolve(kept.find((part) => part.id === id)),
    add: (part) => put(part),
    replace: (_id, next) => put(next),
    remove: (id, atMs) => {
      const at = kept.findIndex((part) => part.id === id);
      const part = kept[at];
      if (part === undefined) return Promise.resolve(undefined);
      kept[at] = { ...part, removedAtMs: atMs };
      return Promise.resolve(kept[at]);
    },
  };
}
