import type { SiteJson } from '@duskline/contract';
import type { SiteView } from '@duskline/domain';
import { alertsJson } from './alert-json.ts';
import { finiteOrNull } from './finite.ts';
import { instantOrNull } from './instant.ts';
import { outlookJson } from './outlook-json.ts';

/** One site with all that is known of it now. A site whose node was never judged is not yet proved. */
export function siteJson(view: SiteView): SiteJson {
  const { site, node, verdict, charge, outlook } = view;
  return {
    id: site.id,
    name: site.name,
    timeZone: site.timeZone,
    latitudeDeg: site.position.latitudeDeg,
    longitudeDeg: site.position.longitudeDeg,
    elevationM: site.position.elevationM,
    node: node?.name ?? null,
    version: view.version,
    state: verdict?.state ?? 'not-yet-proved',
    stateSince: instantOrNull(verdict?.sinceMs),
    stateCause: verdict?.cause ?? null,
    stateSettledBy: verdict?.settledBy ?? null,
    stateEvidence: [...(verdict?.evidence ?? [])],
    chargeRatio: finiteOrNull(charge?.ratio, 'charge'),
    chargeLowRatio: finiteOrNull(charge?.lowRatio, 'charge, low end'),
    chargeHighRatio: finiteOrNull(charge?.highRatio, 'charge, high end'),
    chargeMethod: charge?.method ?? null,
    chargeAt: instantOrNull(charge?.observedAtMs),
    shutDownRatio: node?.power.shutDownRatio ?? null,
    restartRatio: node?.power.restartRatio ?? null,
    lastHeardAt: instantOrNull(view.lastHeardAtMs),
    outlook: outlook === undefined ? null : outlookJson(outlook),
    alerts: alertsJson(view.alerts, () => site.name),
  };
}
