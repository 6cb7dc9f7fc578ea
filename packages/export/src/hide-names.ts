import type { Role } from '@duskline/domain';
import type { Cell } from './tables/table.ts';

/** Somebody whose name a package may not tell. */
export interface NamedPerson {
  readonly name: string;
  readonly role: Role;
}

/** Somebody who is in no list any more. */
const SOMEBODY = 'a person';

export interface NameHider {
  /** Of a sentence: every name that is known, in whatever case it was written. */
  text<T extends Cell>(cell: T): T | string;
  /** Of a cell that is a name and nothing else: the role also where the name is not known. */
  name<T extends Cell>(cell: T): T | string;
}

/**
 * Puts the role in place of every name. Longer names go first, so that of "Wren Halloway" nothing is left.
 *
 * What no list knows (a farmer who is named in a note) stays: README.txt of the package says so.
 */
export function nameHider(people: readonly NamedPerson[]): NameHider {
  const known = people
    .filter(({ name }) => name.trim() !== '')
    .sort((a, b) => b.name.length - a.name.length);
  const roleOf = new Map(known.map(({ name, role }) => [name.toLowerCase(), role]));
  const names = known.map(({ name }) => name.replaceAll(/[.*+?^${}()|[\]\\]/g, '\\$&')).join('|');
  const within = new RegExp(`(?<![\\p{L}\\p{N}])(?:${names})(?![\\p{L}\\p{N}])`, 'giu');
  return {
    text: (cell) =>
      typeof cell !== 'string' || known.length === 0
        ? cell
        : cell.replace(within, (name) => roleOf.get(name.toLowerCase()) ?? SOMEBODY),
    name: (cell) =>
      typeof cell !== 'string' || cell === '' ? cell : (roleOf.get(cell.toLowerCase()) ?? SOMEBODY),
  };
}

/** Nothing is hidden. */
export const showNames: NameHider = { text: (cell) => cell, name: (cell) => cell };
