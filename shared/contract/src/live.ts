import type { AlertJson } from './alert.ts';
import type { FleetRowJson } from './site.ts';

/** What the server says on the socket. Three events, no more. */
export interface ServerEvents {
  /** A whole row; ignore it when its version is not above the one held. */
  site: (row: FleetRowJson) => void;
  alert: (alert: AlertJson) => void;
  /** Something was missed: ask the API again. */
  resync: () => void;
}

/** What the page says on the socket. */
export interface ClientEvents {
  /** Follow all sites. Answered when the socket is in the room. */
  'watch-fleet': (done: () => void) => void;
}
