import type { AlertJson, FleetRowJson } from '@duskline/contract';

/** What the socket says, as one value. */
export type LiveEvent =
  | { readonly kind: 'site'; readonly row: FleetRowJson }
  | { readonly kind: 'alert'; readonly alert: AlertJson };

/** Rows by site id, in no particular order. */
export type FleetRows = ReadonlyMap<string, FleetRowJson>;

export const noRows: FleetRows = new Map();

export const rowsById = (rows: readonly FleetRowJson[]): FleetRows =>
  new Map(rows.map((row) => [row.site.id, row]));

/**
 * The rows after some events, in the order they came. A row that is not newer than the one held is ignored; an alert
 * replaces the one of its id, and leaves when it has ended and been seen. The same map comes back when nothing changed.
 */
export function applyLiveEvents(rows: FleetRows, events: readonly LiveEvent[]): FleetRows {
  // One copy for all of them: a thousand a second over ten thousand rows would be a copy each.
  let after: Map<string, FleetRowJson> | undefined;
  for (const event of events) {
    const changed = rowAfter(after ?? rows, event);
    if (changed === undefined) continue;
    after ??= new Map(rows);
    after.set(changed.site.id, changed);
  }
  return after ?? rows;
}

/** The one row an event changes; undefined when it changes none. */
function rowAfter(rows: FleetRows, event: LiveEvent): FleetRowJson | undefined {
  if (event.kind === 'site') {
    const held = rows.get(event.row.site.id);
    const older = held !== undefined && held.site.version >= event.row.site.version;
    return older ? undefined : atItsPlace(event.row, held);
  }
  const row = rows.get(event.alert.siteId);
  if (row === undefined) return undefined;
  const alerts = withAlert(row.site.alerts, event.alert);
  return { ...row, site: { ...row.site, alerts } };
}

/** The socket tells everybody alike, so where a site is only roughly: what the API said of it stays. */
function atItsPlace(row: FleetRowJson, held: FleetRowJson | undefined): FleetRowJson {
  if (held === undefined) return row;
  const { latitudeDeg, longitudeDeg, elevationM } = held.site;
  return { ...row, site: { ...row.site, latitudeDeg, longitudeDeg, elevationM } };
}

function withAlert(alerts: readonly AlertJson[], alert: AlertJson): AlertJson[] {
  if (alert.state === 'ended') return alerts.filter((other) => other.id !== alert.id);
  const known = alerts.some((other) => other.id === alert.id);
  return known
    ? alerts.map((other) => (other.id === alert.id ? alert : other))
    : [...alerts, alert];
}

/**
 * Rows asked for again, laid over rows kept from the socket: of each site the newer version; at equal versions the
 * asked-for one, which also knows alerts the socket may have missed. A site the answer no longer has is gone.
 */
export function refreshRows(kept: FleetRows, asked: readonly FleetRowJson[]): FleetRows {
  return new Map(
    asked.map((row) => {
      const held = kept.get(row.site.id);
      const newer = held !== undefined && held.site.version > row.site.version;
      return [row.site.id, newer ? held : row];
    }),
  );
}
