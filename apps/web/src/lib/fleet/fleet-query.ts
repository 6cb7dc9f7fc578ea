import { nodeStates, type NodeState } from '@duskline/domain';

export const sortKeys = ['urgency', 'name', 'charge', 'days', 'heard'] as const;
export type SortKey = (typeof sortKeys)[number];

export const groupKeys = ['none', 'state', 'when'] as const;
export type GroupKey = (typeof groupKeys)[number];

export const fleetDrawings = ['rows', 'map'] as const;
export type FleetDrawing = (typeof fleetDrawings)[number];

/** What of the fleet is shown, and in which order: all of it lives in the address. */
export interface FleetQuery {
  readonly sort: SortKey;
  readonly reversed: boolean;
  /** Empty: every state. */
  readonly states: readonly NodeState[];
  readonly onlyNeedy: boolean;
  readonly search: string;
  readonly group: GroupKey;
  readonly drawing: FleetDrawing;
}

const isState = (text: string): text is NodeState =>
  (nodeStates as readonly string[]).includes(text);

/** The query an address asks for; what it does not say, or says wrongly, is the default. */
export function parseFleetQuery(params: URLSearchParams): FleetQuery {
  const wanted = params.get('sort') ?? '';
  const key = sortKeys.find((sort) => sort === wanted.replace(/^-/, ''));
  const shown = (params.get('show') ?? '').split(',');
  return {
    sort: key ?? 'urgency',
    reversed: key !== undefined && wanted.startsWith('-'),
    states: shown.filter(isState),
    onlyNeedy: shown.includes('need-someone'),
    search: params.get('q')?.trim() ?? '',
    group: groupKeys.find((group) => group === params.get('group')) ?? 'none',
    drawing: fleetDrawings.find((drawing) => drawing === params.get('as')) ?? 'rows',
  };
}

/** The address that asks for the query: "?sort=-charge&show=low", or "/" for the default. */
export function fleetHref(query: FleetQuery): string {
  const params = new URLSearchParams();
  if (query.sort !== 'urgency' || query.reversed)
    params.set('sort', `${query.reversed ? '-' : ''}${query.sort}`);
  const shown = [...(query.onlyNeedy ? ['need-someone'] : []), ...query.states];
  if (shown.length > 0) params.set('show', shown.join(','));
  if (query.search !== '') params.set('q', query.search);
  if (query.group !== 'none') params.set('group', query.group);
  if (query.drawing !== 'rows') params.set('as', query.drawing);
  const text = params.toString().replaceAll('%2C', ',');
  return text === '' ? '/' : `/?${text}`;
}

/** The query with one state added, or taken away when it was there. */
export const toggleState = (query: FleetQuery, state: NodeState): FleetQuery => ({
  ...query,
  states: query.states.includes(state)
    ? query.states.filter((kept) => kept !== state)
    : [...query.states, state],
});

/** The query sorted by that column; the same column again turns it round. */
export const sortedBy = (query: FleetQuery, sort: SortKey): FleetQuery => ({
  ...query,
  sort,
  reversed: query.sort === sort && !query.reversed,
});
