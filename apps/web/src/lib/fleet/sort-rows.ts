import type { FleetRowJson, SiteJson } from '@duskline/contract';
import { needsSomeone, priorities, type NodeState } from '@duskline/domain';
import { instantMsOr } from '../format/time.ts';
import type { FleetQuery, SortKey } from './fleet-query.ts';
import { stopSpan } from './outlook-span.ts';
import { alertsToActOn, summariseSite } from './summarise-site.ts';

/** Among sites of one priority: what is worst for the readings comes first. */
const stateOrder: readonly NodeState[] = [
  'silent-unexplained',
  'overdue',
  'low',
  'link-down',
  'dark-as-designed',
  'not-yet-proved',
  'off-for-work',
  'up',
  'retired',
];

const byName = new Intl.Collator('en-GB', { numeric: true });

type Rank = readonly (number | string)[];

/** Smaller is more urgent: who needs someone, how soon, how bad, who goes dark first, then the name. */
function urgency(site: SiteJson): Rank {
  const open = alertsToActOn(site);
  const best = Math.min(
    ...open.map((alert) => priorities.indexOf(alert.priority)),
    priorities.length,
  );
  return [
    needsSomeone(summariseSite(site)) ? 0 : 1,
    best,
    open.some((alert) => alert.state === 'new') ? 0 : 1,
    stateOrder.indexOf(site.state),
    stopSpan(site.outlook)?.fromMs ?? Infinity,
    site.name,
  ];
}

const rankOf: Readonly<Record<SortKey, (site: SiteJson) => Rank>> = {
  urgency,
  name: (site) => [site.name],
  charge: (site) => [site.chargeRatio ?? Infinity, site.name],
  days: (site) => [stopSpan(site.outlook)?.fromMs ?? Infinity, site.name],
  heard: (site) => [instantMsOr(site.lastHeardAt, 0), site.name],
};

function compareRanks(a: Rank, b: Rank): number {
  for (const [i, left] of a.entries()) {
    const right = b[i];
    if (typeof left === 'string' || typeof right === 'string') {
      const order = byName.compare(String(left), String(right));
      if (order !== 0) return order;
    } else if (right !== undefined && left !== right) return left < right ? -1 : 1;
  }
  return 0;
}

/** The rows in the order a query asks for. */
export function sortRows(
  rows: readonly FleetRowJson[],
  { sort, reversed }: Pick<FleetQuery, 'sort' | 'reversed'>,
): readonly FleetRowJson[] {
  const ranked = rows.map((row) => ({ row, rank: rankOf[sort](row.site) }));
  ranked.sort((a, b) => compareRanks(a.rank, b.rank));
  if (reversed) ranked.reverse();
  return ranked.map(({ row }) => row);
}
