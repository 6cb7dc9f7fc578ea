import type { AlertJson, SiteJson } from '@duskline/contract';
import type { SiteSummary } from '@duskline/domain';
import { urgencyOf } from '../alerts/urgency-of.ts';
import { backSpan, clearUntilMs, stopSpan } from './outlook-span.ts';

/** Alerts that ask for a person now: somebody must take them, or has. */
export const alertsToActOn = (site: SiteJson): readonly AlertJson[] =>
  site.alerts.filter((alert) => alert.state === 'new' || alert.state === 'taken');

/**
 * What a row shows of its alerts: those to act on by priority, then those that somebody paused, then those that ended
 * before anybody saw them.
 */
export const alertsToShow = (site: SiteJson): readonly AlertJson[] => [
  ...[...alertsToActOn(site)].sort((a, b) => urgencyOf(a).localeCompare(urgencyOf(b))),
  ...site.alerts.filter((alert) => alert.state === 'paused'),
  ...site.alerts.filter((alert) => alert.state === 'ended-unseen'),
];

/** What the fleet's sentence needs to know of a site. */
export function summariseSite(site: SiteJson): SiteSummary {
  const stops = stopSpan(site.outlook);
  const back = backSpan(site.outlook);
  const clear = clearUntilMs(site.outlook);
  return {
    name: site.name,
    timeZone: site.timeZone,
    state: site.state,
    alertsToActOn: alertsToActOn(site).length,
    ...(stops === undefined ? {} : { stops }),
    ...(back === undefined ? {} : { back }),
    ...(clear === undefined ? {} : { clearUntilMs: clear }),
  };
}
