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

export interface Provisioned {
  readonly secret: string;
  /** It was there already: a run that was killed at the wrong moment had put it up, and may have sent something. */
  readonly wasThere: boolean;
}

/**
 * Puts a site and its node up through the API, or takes over what is there, and returns the node's secret.
 *
 * @param sinceMs when the node was put up: what it will tell of its past happened there
 */
export async function provisionSite(
  door: Door,
  site: SimulatedSite,
  sinceMs: number,
): Promise<Provisioned> {
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
  const name = nodeNameOf(site.id);
  const made = await call(door, `/api/v1/sites/${site.id}/node`, {
    name,
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
    commissionedAt: new Date(sinceMs).toISOString(),
  });
  // A secret is shown once; whoever did not write it down needs a new one.
  const answer = made ?? (await call(door, `/api/v1/nodes/${name}/secret`, undefined));
  if (typeof answer?.['secret'] !== 'string')
    throw new Error(`The server gave no secret for ${name}.`);
  return { secret: answer['secret'], wasThere: made === undefined };
}

/** The name of the node at a site. */
export const nodeNameOf = (siteId: string): string => `${siteId}-1`;

/** @returns undefined when it is there already (409) */
async function call(
  door: Door,
  path: string,
  body: unknown,
): Promise<Readonly<Record<string, unknown>> | undefined> {
  const response = await fetch(`${door.url}${path}`, {
    method: 'POST',
    headers: {
      authorization: `Bearer ${door.token}`,
      ...(body === undefined ? {} : { 'content-type': 'application/json' }),
    },
    ...(body === undefined ? {} : { body: JSON.stringify(body) }),
    signal: AbortSignal.timeout(20_000),
  });
  const text = await response.text();
  if (response.status === 409) return undefined;
  if (!response.ok) throw new Error(`POST ${path} answered ${response.status}: ${text}`);
  return JSON.parse(text) as Record<string, unknown>;
}
