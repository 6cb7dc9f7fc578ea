import type { ApiDeps } from '../api-deps.ts';
import { relationOf, relationsOf, type StaEntity, type StaSet } from './sta-entity.ts';
import { orderOf, passes, timeBounds } from './sta-filter.ts';
import { findObservation, readObservations } from './sta-observations.ts';
import type { StaPath, StaStep } from './sta-path.ts';
import type { StaExpansion, StaQuery } from './sta-query.ts';
import { badQuery, beyondDoor, noEntity } from './sta-refusal.ts';
import type { StaSource } from './sta-source.ts';

interface StaDesk {
  readonly deps: Pick<ApiDeps, 'readings' | 'now'>;
  readonly source: StaSource;
  /** Address of the service, without a slash at its end. */
  readonly root: string;
}

export type StaAnswer =
  | { readonly kind: 'json'; readonly body: object }
  | { readonly kind: 'text'; readonly text: string }
  /** A property that is null (§9.2.4). */
  | { readonly kind: 'nothing' };

/** Where a path has come to: one entity, or a set of them. */
type Place =
  | { readonly kind: 'entity'; readonly entity: StaEntity }
  | { readonly kind: 'set'; readonly set: StaSet; readonly of?: StaEntity; readonly name?: string };

/**
 * Answers one request of the read-only door.
 *
 * @param path the address asked for below the root, without its options; next links begin with it
 */
export async function answerSta(
  desk: StaDesk,
  { steps, ending }: StaPath,
  query: StaQuery,
  path: string,
): Promise<StaAnswer> {
  const last = steps.at(-1);
  const property = last?.kind === 'property' ? last.name : undefined;
  const place = await placeOf(desk, property === undefined ? steps : steps.slice(0, -1));
  if (property !== undefined) return propertyOf(place, property, ending === '$value');
  if (ending === '$ref') {
    const found = place.kind === 'entity' ? [place.entity] : (await page(desk, place, query)).found;
    return {
      kind: 'json',
      body: { value: found.map((one) => ({ '@iot.selfLink': selfLink(desk, one) })) },
    };
  }
  if (place.kind === 'entity')
    return { kind: 'json', body: await entityJson(desk, place.entity, query) };
  return { kind: 'json', body: await setJson(desk, place, query, path) };
}

async function placeOf(desk: StaDesk, steps: readonly StaStep[]): Promise<Place> {
  let place: Place | undefined;
  for (const step of steps) {
    if (step.kind === 'property') throw noEntity(step.name);
    if (place?.kind === 'set') throw noEntity(step.kind === 'relation' ? step.name : step.set);
    place =
      step.kind === 'set' || place === undefined
        ? await placeInSet(desk, step.set, step.id)
        : await placeAfter(desk, place.entity, step);
  }
  if (place === undefined) throw noEntity('entity');
  return place;
}

async function placeInSet(desk: StaDesk, set: StaSet, id: string | undefined): Promise<Place> {
  if (id === undefined) return { kind: 'set', set };
  const found = await desk.source.find(set, id);
  const entity =
    set === 'Observations' && found !== undefined
      ? await findObservation(desk.deps, found, id)
      : found;
  if (entity === undefined) throw noEntity(`${set}('${id}')`);
  return { kind: 'entity', entity };
}

async function placeAfter(
  desk: StaDesk,
  of: StaEntity,
  { name, set, many, id }: Extract<StaStep, { readonly kind: 'relation' }>,
): Promise<Place> {
  if (many && id === undefined) return { kind: 'set', set, of, name };
  if (set === 'Observations') {
    const place = await placeInSet(desk, set, id);
    const belongs = (await streamsOf(desk, of)).some(
      (one) => place.kind === 'entity' && place.entity.id.startsWith(`${one.id}:`),
    );
    if (!belongs) throw noEntity(`${name}('${id ?? ''}')`);
    return place;
  }
  const found = (await desk.source.related(of, name)).find((one) => !many || one.id === id);
  if (found === undefined) throw noEntity(many ? `${name}('${id ?? ''}')` : name);
  return { kind: 'entity', entity: found };
}

function propertyOf(place: Place, name: string, raw: boolean): StaAnswer {
  if (place.kind === 'set') throw noEntity(name);
  const { properties, id } = place.entity;
  const value = name === 'id' || name === '@iot.id' ? id : properties[name];
  if (value === undefined) throw noEntity(`property ${name}`);
  if (value === null) return { kind: 'nothing' };
  if (!raw) return { kind: 'json', body: { [name]: value } };
  return { kind: 'text', text: typeof value === 'string' ? value : JSON.stringify(value) };
}

type SetPlace = Extract<Place, { readonly kind: 'set' }>;

interface Page {
  readonly found: readonly StaEntity[];
  readonly count?: number;
  /** What the next link says in place of `$skip` or `$skiptoken`. */
  readonly next?: Readonly<Record<string, string>>;
}

async function page(desk: StaDesk, place: SetPlace, query: StaQuery): Promise<Page> {
  if (place.set === 'Observations') return observationPage(desk, place, query);
  const all =
    place.of === undefined || place.name === undefined
      ? await desk.source.all(place.set)
      : await desk.source.related(place.of, place.name);
  return pageOf(await chosen(desk, all, query), query);
}

/** What passes the filter, in the order asked for; sorting keeps what is equal as it was. */
async function chosen(
  desk: StaDesk,
  all: readonly StaEntity[],
  { filter, orderBy }: StaQuery,
): Promise<readonly StaEntity[]> {
  const kept: { entity: StaEntity; keys: unknown[] }[] = [];
  for (const entity of all) {
    const lookUp = (path: string) => valueAt(desk, entity, path);
    if (filter !== undefined && !(await passes(filter, lookUp))) continue;
    kept.push({ entity, keys: await Promise.all(orderBy.map(({ path }) => lookUp(path))) });
  }
  if (orderBy.length > 0)
    kept.sort((a, b) => {
      for (const [i, { descending }] of orderBy.entries()) {
        const order = nullsFirst(a.keys[i], b.keys[i]);
        if (order !== 0) return descending ? -order : order;
      }
      return 0;
    });
  return kept.map(({ entity }) => entity);
}

function nullsFirst(a: unknown, b: unknown): number {
  const [noA, noB] = [a === null || a === undefined, b === null || b === undefined];
  return noA || noB ? Number(noB) - Number(noA) : (orderOf(a, b) ?? 0);
}

function pageOf(all: readonly StaEntity[], { skip, top, count }: StaQuery): Page {
  return {
    found: all.slice(skip, skip + top),
    ...(count ? { count: all.length } : {}),
    ...(skip + top < all.length && top > 0 ? { next: { $skip: String(skip + top) } } : {}),
  };
}

/** Streams above which a merged page would ask the store too often. */
const MOST_STREAMS = 200;

async function observationPage(desk: StaDesk, place: SetPlace, query: StaQuery): Promise<Page> {
  const streams = await streamsOf(desk, place.of, query);
  if (streams.length > MOST_STREAMS)
    throw beyondDoor(
      '$filter',
      `observations of more than ${MOST_STREAMS} Datastreams at once are not offered: ask one, as in Datastreams('…')/Observations`,
    );
  const { orderBy, skip, top, count, afterMs } = query;
  const bounds = timeBounds(query.filter);
  const [first] = orderBy;
  const byTime =
    orderBy.length === 0 ||
    (orderBy.length === 1 && (first?.path === 'phenomenonTime' || first?.path === 'resultTime'));
  const newestFirst = byTime && first?.descending === true;
  if (streams.length === 1 && streams[0] !== undefined && byTime && bounds.exact && !count) {
    const after = afterMs ?? (newestFirst ? Infinity : -Infinity);
    const found = await readObservations(desk.deps, streams[0], {
      fromMs: newestFirst ? bounds.fromMs : Math.max(bounds.fromMs, after + 1),
      toMs: newestFirst ? Math.min(bounds.toMs, after) : bounds.toMs,
      newestFirst,
      limit: skip + top + 1,
    });
    const shown = found.slice(skip, skip + top);
    const last = shown.at(-1);
    const more = found.length > skip + top && last !== undefined;
    return {
      found: shown,
      ...(more ? { next: { $skiptoken: last.id.slice(last.id.lastIndexOf(':') + 1) } } : {}),
    };
  }
  if (afterMs !== undefined) throw badQuery('$skiptoken', 'belongs to another question');
  // Neither filtered by value nor sorted by it, each stream need give no more than the page.
  const limit = byTime && bounds.exact && !count ? { limit: skip + top + 1 } : {};
  const all: StaEntity[] = [];
  for (const stream of streams)
    all.push(...(await readObservations(desk.deps, stream, { ...bounds, newestFirst, ...limit })));
  const sorted = byTime ? [{ path: 'phenomenonTime', descending: newestFirst }] : orderBy;
  return pageOf(await chosen(desk, all, { ...query, orderBy: sorted }), query);
}

/** The Datastreams whose observations belong here. */
async function streamsOf(
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

/** What a path such as `unitOfMeasurement/symbol` or `Thing/name` leads to. */
async function valueAt(desk: StaDesk, entity: StaEntity, path: string): Promise<unknown> {
  const [head = '', ...rest] = path.split('/');
  const relation = relationOf(entity.set, head);
  if (relation !== undefined) {
    if (relation.many) throw beyondDoor('$filter', `a path through all of ${head} is not offered`);
    const [next] = await desk.source.related(entity, head);
    return next === undefined ? undefined : valueAt(desk, next, rest.join('/'));
  }
  if ((head === 'id' || head === '@iot.id') && rest.length === 0) return entity.id;
  if (!Object.hasOwn(entity.properties, head))
    throw badQuery('$filter', `or $orderby names ${head}, which ${entity.set} do not have`);
  return rest.reduce<unknown>(
    (value, key) =>
      typeof value === 'object' && value !== null && Object.hasOwn(value, key)
        ? (value as Record<string, unknown>)[key]
        : undefined,
    entity.properties[head],
  );
}

async function setJson(
  desk: StaDesk,
  place: SetPlace,
  query: StaQuery,
  path: string,
): Promise<object> {
  const { found, count, next } = await page(desk, place, query);
  const value: object[] = [];
  for (const entity of found) value.push(await entityJson(desk, entity, query));
  return {
    ...(count === undefined ? {} : { '@iot.count': count }),
    ...(next === undefined
      ? {}
      : { '@iot.nextLink': nextLink(`${desk.root}/${path}`, query, next) }),
    value,
  };
}

/** The same question, from where this page ended. */
function nextLink(
  address: string,
  { options }: StaQuery,
  next: Readonly<Record<string, string>>,
): string {
  const rest = Object.entries(options).filter(
    ([name]) => name !== '$skip' && name !== '$skiptoken',
  );
  const further = new URLSearchParams([...rest, ...Object.entries(next)]);
  return `${address}?${further.toString().replaceAll('%24', '$')}`;
}

const selfLink = ({ root }: StaDesk, { set, id }: StaEntity): string =>
  `${root}/${set}('${encodeURIComponent(id.replaceAll("'", "''"))}')`;

async function entityJson(
  desk: StaDesk,
  entity: StaEntity,
  { select, expand }: Pick<StaQuery, 'select' | 'expand'>,
): Promise<object> {
  const self = selfLink(desk, entity);
  const names = Object.keys(relationsOf(entity.set));
  checkNames(entity, names, { select, expand });
  const wanted = (name: string) => select === undefined || select.includes(name);
  const json: Record<string, unknown> = {};
  if (wanted('id') || wanted('@iot.id')) json['@iot.id'] = entity.id;
  if (select === undefined) json['@iot.selfLink'] = self;
  for (const [name, value] of Object.entries(entity.properties))
    if (wanted(name)) json[name] = value;
  for (const name of names)
    if (wanted(name)) json[`${name}@iot.navigationLink`] = `${self}/${name}`;
  for (const expansion of expand)
    Object.assign(json, await expanded(desk, entity, expansion, `${self}/${expansion.name}`));
  return json;
}

function checkNames(
  entity: StaEntity,
  names: readonly string[],
  asked: {
    readonly select: readonly string[] | undefined;
    readonly expand: readonly StaExpansion[];
  },
): void {
  const known = ['id', '@iot.id', ...Object.keys(entity.properties), ...names];
  const strange = asked.select?.find((name) => !known.includes(name));
  if (strange !== undefined)
    throw badQuery('$select', `names ${strange}, which ${entity.set} do not have`);
  const missing = asked.expand.find(({ name }) => !names.includes(name));
  if (missing !== undefined)
    throw badQuery('$expand', `names ${missing.name}, which ${entity.set} do not have`);
}

async function expanded(
  desk: StaDesk,
  of: StaEntity,
  { name, query }: StaExpansion,
  link: string,
): Promise<object> {
  const relation = relationOf(of.set, name);
  if (relation === undefined) throw new Error('expanded: checkNames lets no such name through');
  if (!relation.many) {
    const [next] = await desk.source.related(of, name);
    return { [name]: next === undefined ? null : await entityJson(desk, next, query) };
  }
  const { found, count, next } = await page(
    desk,
    { kind: 'set', set: relation.set, of, name },
    query,
  );
  const value: object[] = [];
  for (const entity of found) value.push(await entityJson(desk, entity, query));
  return {
    [name]: value,
    ...(count === undefined ? {} : { [`${name}@iot.count`]: count }),
    ...(next === undefined ? {} : { [`${name}@iot.nextLink`]: nextLink(link, query, next) }),
  };
}
