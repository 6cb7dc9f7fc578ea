import { readFilter, type StaFilter } from './sta-filter.ts';
import { badQuery, beyondDoor } from './sta-refusal.ts';

/** System query options of one collection. @source OGC 15-078r6 §9.3 and §9.4 */
export interface StaQuery {
  readonly filter?: StaFilter;
  readonly count: boolean;
  /** As they were written, for links that go on. */
  readonly options: Readonly<Record<string, string>>;
  readonly orderBy: readonly { readonly path: string; readonly descending: boolean }[];
  readonly skip: number;
  /** At most `MOST_ENTITIES`. */
  readonly top: number;
  readonly expand: readonly StaExpansion[];
  readonly select?: readonly string[];
  /** Where our own next link goes on, Unix ms. */
  readonly afterMs?: number;
}

export interface StaExpansion {
  readonly name: string;
  readonly query: StaQuery;
}

const DEFAULT_TOP = 100;
/** What a larger `$top` is cut to (§9.4.2). */
export const MOST_ENTITIES = 1000;
const MOST_SKIPPED = 1_000_000;
const LEVELS = 2;

const options = ['$filter', '$count', '$orderby', '$skip', '$top', '$expand', '$select'];

/**
 * Reads the options of a request. Those without a dollar are not ours to judge.
 *
 * @throws ApiProblem 400 where one cannot be read, 501 where one is not offered
 */
export function readQuery(given: Readonly<Record<string, unknown>>, level = 0): StaQuery {
  for (const [name, value] of Object.entries(given)) {
    if (!name.startsWith('$')) continue;
    if (!options.includes(name) && !(name === '$skiptoken' && level === 0))
      throw beyondDoor(name, 'is not offered');
    if (typeof value !== 'string') throw badQuery(name, 'stands there twice');
  }
  const text = (name: string): string | undefined => given[name] as string | undefined;
  const [filter, select, afterMs] = [text('$filter'), text('$select'), text('$skiptoken')];
  return {
    options: Object.fromEntries(
      Object.entries(given).filter(
        (one): one is [string, string] => one[0].startsWith('$') && typeof one[1] === 'string',
      ),
    ),
    count: countOf(text('$count')),
    orderBy: orderOf(text('$orderby')),
    skip: wholeOf('$skip', text('$skip'), 0, MOST_SKIPPED),
    top: Math.min(MOST_ENTITIES, wholeOf('$top', text('$top'), DEFAULT_TOP, Infinity)),
    expand: expansionsOf(text('$expand'), level),
    ...(filter === undefined ? {} : { filter: readFilter(filter) }),
    ...(select === undefined ? {} : { select: select.split(',').map((one) => one.trim()) }),
    ...(afterMs === undefined
      ? {}
      : { afterMs: wholeOf('$skiptoken', afterMs, 0, Number.MAX_SAFE_INTEGER) }),
  };
}

function countOf(text: string | undefined): boolean {
  if (text === undefined || text === 'false') return false;
  if (text !== 'true') throw badQuery('$count', 'must be true or false');
  return true;
}

function wholeOf(name: string, text: string | undefined, usual: number, most: number): number {
  if (text === undefined) return usual;
  const value = Number(text);
  if (!/^\d{1,15}$/.test(text) || value > most)
    throw badQuery(name, 'must be a whole number, not below 0');
  return value;
}

function orderOf(text: string | undefined): StaQuery['orderBy'] {
  return (text === undefined ? [] : text.split(',')).map((part) => {
    const found = /^\s*([@\w./]+)(?:\s+(asc|desc))?\s*$/.exec(part);
    if (found?.[1] === undefined)
      throw badQuery('$orderby', 'must be names of properties, each with asc or desc if need be');
    return { path: found[1], descending: found[2] === 'desc' };
  });
}

/** `A/B` is `A($expand=B)` (§9.3.2.1). */
function expansionsOf(text: string | undefined, level: number): readonly StaExpansion[] {
  if (text === undefined) return [];
  if (level >= LEVELS) throw beyondDoor('$expand', `more than ${LEVELS} levels are not offered`);
  return split(text, ',').map((part) => {
    const found = /^\s*([A-Za-z]+)(?:\/([A-Za-z/]+))?\s*(?:\((.*)\))?\s*$/s.exec(part);
    if (found?.[1] === undefined) throw badQuery('$expand', `cannot be read at “${part}”`);
    const [, name, further, inside] = found;
    if (further !== undefined) {
      const rest = inside === undefined ? further : `${further}(${inside})`;
      return { name, query: readQuery({ $expand: rest }, level + 1) };
    }
    return { name, query: readQuery(optionsIn(inside), level + 1) };
  });
}

function optionsIn(inside: string | undefined): Record<string, string> {
  const parts = inside === undefined || inside.trim() === '' ? [] : split(inside, ';');
  return Object.fromEntries(
    parts.map((part) => {
      const at = part.indexOf('=');
      if (at < 1) throw badQuery('$expand', `has “${part}” where an option belongs`);
      return [part.slice(0, at).trim(), part.slice(at + 1)];
    }),
  );
}

/** Splits where the sign stands outside brackets and quotes. */
function split(text: string, sign: ',' | ';'): readonly string[] {
  const parts = [''];
  let depth = 0;
  let quoted = false;
  for (const letter of text) {
    if (letter === "'") quoted = !quoted;
    else if (!quoted && letter === '(') depth += 1;
    else if (!quoted && letter === ')') depth -= 1;
    if (depth < 0) throw badQuery('$expand', 'closes a bracket that was not opened');
    if (letter === sign && depth === 0 && !quoted) parts.push('');
    else parts[parts.length - 1] += letter;
  }
  if (depth > 0 || quoted) throw badQuery('$expand', 'ends in the middle');
  return parts;
}
