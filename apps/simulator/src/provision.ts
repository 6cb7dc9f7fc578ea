import { TIME_ZONE, type SimulatedSite } from './fleet.ts';

/** Duskline's door as a builder's script would use it. */
export interface Door {
  readonly url: string;
  readonly token: string;
}

/** The bench in the volunteers' workshop: where a node is proved before it is carried out. Nothing is simulated there. */
export const bench = {
  id: 'bench',
  name: 'Workshop bench',
  node: 'bench-1',
} as const;

/** Puts a site and its node up through the API and returns the node's secret, which is shown this once. */
export async function provisionSite(door: Door, site: SimulatedSite): Promise<string> {
  const { position, power } = site;
  await call(door, '/api/v1/sites', {
    id: site.id,
    name: site.name,
    latitudeDeg: position.latitudeDeg,
    longitudeDeg: position.longitudeDeg,
    elevationM: position.elevationM,
    timeZone: TIME_ZONE,
    access: site.access,
    hazards: site.hazards,
  });
  const { secret } = await call<{ secret: string }>(door, `/api/v1/sites/${site.id}/node`, {
    name: nodeNameOf(site.id),
    panelW: power.panel.ratedW,
    panelTiltDeg: power.panel.tiltDeg,
    panelAzimuthDeg: power.panel.azimuthDeg,
    batteryChemistry: power.battery.chemistry,
    batteryWh: power.battery.ratedWh,
    seriesCells: power.battery.seriesCells,
    charger: power.charger,
    shutDownRatio: power.shutDownRatio,
    restartRatio: power.restartRatio,
    offStateDrawW: power.offStateDrawW,
    usualGapS: power.usualGapS,
  });
  return secret;
}

/** The name of the node at a site. */
export const nodeNameOf = (siteId: string): string => `${siteId}-1`;

async function call<T = unknown>(door: Door, path: string, body: unknown): Promise<T> {
  const response = await fetch(`${door.url}${path}`, {
    method: 'POST',
    headers: { 'content-type': 'application/json', authorization: `Bearer ${door.token}` },
    body: JSON.stringify(body),
    signal: AbortSignal.timeout(20_000),
  });
  const text = await response.text();
  if (!response.ok) throw new Error(`POST ${path} answered ${response.status}: ${text}`);
  return JSON.parse(text) as T;
}
