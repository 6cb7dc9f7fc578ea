import type { StaDesk } from './sta-desk.ts';
import type { StaEntity } from './sta-entity.ts';
import type { StaQuery } from './sta-query.ts';

/** The Datastreams whose observations belong here. */
export async function streamsOf(
  { source }: StaDesk,
  of: StaEntity | undefined,
  query?: StaQuery,
): Promise<readonly StaEntity[]> {
  if (of?.set === 'Datastreams') return [of];
  if (of !== undefined) {
    const [thing] = await Promise.all([source.find('Things', of.view?.node?.name ?? '')]);
    return thing === undefined ? [] : source.related(thing, 'Datastreams');
  }
  const named = streamNamed(query?.filter);
  if (named === undefined) return source.all('Datastreams');
  const found = await source.find('Datastreams', named);
  return found === undefined ? [] : [found];
}

/** The Datastream that a filter restricts everything to, as in `Datastream/id eq '…'`. */
function streamNamed(filter: StaQuery['filter']): string | undefined {
  if (filter?.kind === 'and') return streamNamed(filter.parts[0]) ?? streamNamed(filter.parts[1]);
  if (filter?.kind !== 'compare' || filter.operator !== 'eq') return undefined;
  const { left, right } = filter;
  return left.kind === 'path' &&
    /^Datastream\/(@iot\.)?id$/.test(left.path) &&
    right.kind === 'literal'
    ? String(right.value)
    : undefined;
}
