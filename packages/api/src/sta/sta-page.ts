import type { StaDesk } from './sta-desk.ts';
import { relationOf, type StaEntity } from './sta-entity.ts';
import { orderOf, passes, timeBounds } from './sta-filter.ts';
import { readObservations } from './sta-observations.ts';
import type { SetPlace } from './sta-place.ts';
import type { StaQuery } from './sta-query.ts';
import { badQuery, beyondDoor } from './sta-refusal.ts';
import { streamsOf } from './sta-streams.ts';

/** A piece of a set. */
export interface StaPage {
  readonly found: readonly StaEntity[];
  readonly count?: number;
  /** What the next link says in place of `$skip` or `$skiptoken`. */
  readonly next?: Readonly<Record<string, string>>;
}

/** What of a set was asked for: filtered, sorted, and as much as a page holds. */
export async function staPage(desk: StaDesk, place: SetPlace, query: StaQuery): Promise<StaPage> {
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

function pageOf(all: readonly StaEntity[], { skip, top, count }: StaQuery): StaPage {
  return {
    found: all.slice(skip, skip + top),
    ...(count ? { count: all.length } : {}),
    ...(skip + top < all.length && top > 0 ? { next: { $skip: String(skip + top) } } : {}),
  };
}

/** Streams above which a merged page would ask the store too often. */
const MOST_STREAMS = 200;

async function observationPage(desk: StaDesk, place: SetPlace, query: StaQuery): Promise<StaPage> {
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
