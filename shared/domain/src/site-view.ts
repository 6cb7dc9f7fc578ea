import type { Alert } from './alert.ts';
import type { ChargeEstimate } from './charge.ts';
import type { StateVerdict } from './node-state.ts';
import type { Outlook } from './outlook.ts';
import type { FieldNode, Site } from './site.ts';

/** Everything a row of the fleet page is made from. `version` grows with every change, so that an older one is ignored. */
export interface SiteView {
  readonly site: Site;
  readonly node?: FieldNode;
  readonly version: number;
  readonly verdict?: StateVerdict;
  readonly charge?: ChargeEstimate;
  readonly lastHeardAtMs?: number;
  readonly outlook?: Outlook;
  /** Not yet over. */
  readonly alerts: readonly Alert[];
}
