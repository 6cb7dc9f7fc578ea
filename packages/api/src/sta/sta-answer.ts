import type { StaDesk } from './sta-desk.ts';
import { relationOf, relationsOf, type StaEntity } from './sta-entity.ts';
import { staPage } from './sta-page.ts';
import type { StaPath } from './sta-path.ts';
import { placeOf, type Place, type SetPlace } from './sta-place.ts';
import type { StaExpansion, StaQuery } from './sta-query.ts';
import { badQuery, noEntity } from './sta-refusal.ts';

export type StaAnswer =
  | { readonly kind: 'json'; readonly body: object }
  | { readonly kind: 'text'; readonly text: string }
  /** A property that is null (§9.2.4). */
  | { readonly kind: 'nothing' };

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
    const found =
      place.kind === 'entity' ? [place.entity] : (await staPage(desk, place, query)).found;
    return {
      kind: 'json',
      body: { value: found.map((one) => ({ '@iot.selfLink': selfLink(desk, one) })) },
    };
  }
  if (place.kind === 'entity')
    return { kind: 'json', body: await entityJson(desk, place.entity, query) };
  return { kind: 'json', body: await setJson(desk, place, query, path) };
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

async function setJson(
  desk: StaDesk,
  place: SetPlace,
  query: StaQuery,
  path: string,
): Promise<object> {
  const { found, count, next } = await staPage(desk, place, query);
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
  const { found, count, next } = await staPage(
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
