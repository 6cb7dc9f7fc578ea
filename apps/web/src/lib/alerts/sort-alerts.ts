import type { AlertJson } from '@duskline/contract';
import { urgencyOf } from './urgency-of.ts';

/** The alerts of Watch by whose they are; in each part the most urgent first, then the oldest, site by site. */
export interface SortedAlerts {
  readonly mine: readonly AlertJson[];
  readonly free: readonly AlertJson[];
  readonly others: readonly AlertJson[];
  readonly paused: readonly AlertJson[];
  readonly over: readonly AlertJson[];
}

type Part = keyof SortedAlerts;

function partOf(alert: AlertJson, me: string): Part | undefined {
  switch (alert.state) {
    case 'new':
      return 'free';
    case 'taken':
      return alert.takenBy === me ? 'mine' : 'others';
    case 'paused':
      return 'paused';
    case 'ended-unseen':
      return 'over';
    case 'quiet-by-design':
    case 'ended':
      return undefined;
  }
}

/** What is asked of one site stands together, where its most urgent stands: one trip answers both. */
function bySite(ordered: readonly AlertJson[]): readonly AlertJson[] {
  const sites = new Map<string, AlertJson[]>();
  for (const alert of ordered) {
    // Those about the fleet have no site, and nothing to do with each other.
    const key = alert.siteId === '' ? alert.id : alert.siteId;
    sites.set(key, [...(sites.get(key) ?? []), alert]);
  }
  return [...sites.values()].flat();
}

/** @param me  name of who is signed in, as it stands in `takenBy` */
export function sortAlerts(alerts: readonly AlertJson[], me: string): SortedAlerts {
  const ordered = [...alerts].sort(
    (a, b) =>
      urgencyOf(a).localeCompare(urgencyOf(b)) || Date.parse(a.openedAt) - Date.parse(b.openedAt),
  );
  const those = (part: Part) => bySite(ordered.filter((alert) => partOf(alert, me) === part));
  return {
    mine: those('mine'),
    free: those('free'),
    others: those('others'),
    paused: those('paused'),
    over: those('over'),
  };
}
