import type { AlertJson } from './alert.ts';
import type { FleetRowJson } from './site.ts';

/** What was planned or swapped: a visit to a site, or who is on call. */
export type PlanNewsJson =
  { readonly kind: 'visit'; readonly siteId: string } | { readonly kind: 'rota' };

/** What the server says on the socket. Four events, no more. */
export interface ServerEvents {
  /** A whole row; ignore it when its version is not above the one held. */
  site: (row: FleetRowJson) => void;
  alert: (alert: AlertJson) => void;
  /** Plans have changed: whoever shows them asks the API for what they may see of them. */
  plans: (news: PlanNewsJson) => void;
  /** Something was missed: ask the API again. */
  resync: () => void;
}

/** What the page says on the socket. */
export interface ClientEvents {
  /** Follow all sites. Answered when the socket is in the room. */
  'watch-fleet': (done: () => void) => void;
}
