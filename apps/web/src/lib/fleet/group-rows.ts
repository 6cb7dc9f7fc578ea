import type { FleetRowJson, SiteJson } from '@duskline/contract';
import { DAY_MS, nodeStates, nodeStateWord, type NodeState } from '@duskline/domain';
import { text } from '../text/en.ts';
import type { GroupKey } from './fleet-query.ts';
import { stopSpan } from './outlook-span.ts';

/** Rows under one heading; a single group without heading when nothing was asked to be grouped. */
export interface RowGroup {
  readonly key: string;
  readonly heading: string | undefined;
  readonly rows: readonly FleetRowJson[];
}

const WEEK_DAYS = 7;
const FORTNIGHT_DAYS = 14;
const whens = ['gone', 'week', 'fortnight', 'later'] as const;
type When = (typeof whens)[number];

/** When a site could stop at the earliest (P10); `gone` for one that has stopped or is not heard. */
function whenOf(site: SiteJson, nowMs: number): When {
  if (!['up', 'low', 'not-yet-proved'].includes(site.state)) return 'gone';
  const fromMs = stopSpan(site.outlook)?.fromMs ?? Infinity;
  if (fromMs < nowMs + WEEK_DAYS * DAY_MS) return 'week';
  return fromMs < nowMs + FORTNIGHT_DAYS * DAY_MS ? 'fortnight' : 'later';
}

/** The group a site stands in now. */
export function groupOf(site: SiteJson, by: GroupKey, nowMs: number): string {
  if (by === 'state') return site.state;
  return by === 'when' ? whenOf(site, nowMs) : '';
}

const stateFirst = (state: NodeState): number => nodeStates.indexOf(state);
const place: Readonly<Record<GroupKey, (key: string) => number>> = {
  none: () => 0,
  state: (key) => stateFirst(key as NodeState),
  when: (key) => whens.indexOf(key as When),
};
const heading: Readonly<Record<GroupKey, (key: string) => string | undefined>> = {
  none: () => undefined,
  state: (key) => nodeStateWord[key as NodeState],
  when: (key) => text.fleet.when[key as When],
};

/**
 * Rows by group, each group keeping their order.
 *
 * @param keyOf  the group a row was in when the order was taken: news moves no row to another heading meanwhile
 */
export function groupRows(
  rows: readonly FleetRowJson[],
  by: GroupKey,
  keyOf: (row: FleetRowJson) => string,
): readonly RowGroup[] {
  const groups = new Map<string, FleetRowJson[]>();
  for (const row of rows) {
    const key = keyOf(row);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [row]);
    else group.push(row);
  }
  return [...groups]
    .sort(([a], [b]) => place[by](a) - place[by](b))
    .map(([key, members]) => ({ key, heading: heading[by](key), rows: members }));
}
