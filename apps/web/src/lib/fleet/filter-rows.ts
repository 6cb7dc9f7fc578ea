import type { FleetRowJson } from '@duskline/contract';
import { needsSomeone, nodeStateWord } from '@duskline/domain';
import type { FleetQuery } from './fleet-query.ts';
import { summariseSite } from './summarise-site.ts';

/** Lower case, accents dropped: "Hérôn" is found by "heron". */
const plain = (text: string): string =>
  text.normalize('NFD').replace(/\p{M}/gu, '').toLocaleLowerCase('en-GB');

/** Does a row belong to what the query shows? Every word of the search must stand in name, node or state. */
export function isShown(row: FleetRowJson, query: FleetQuery): boolean {
  const { site } = row;
  if (query.onlyNeedy && !needsSomeone(summariseSite(site))) return false;
  if (query.states.length > 0 && !query.states.includes(site.state)) return false;
  const text = plain(`${site.name} ${site.id} ${site.node ?? ''} ${nodeStateWord[site.state]}`);
  return plain(query.search)
    .split(/\s+/)
    .every((word) => text.includes(word));
}
