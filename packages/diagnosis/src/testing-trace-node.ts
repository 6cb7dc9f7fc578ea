import { nodeId, type FieldNode, type NodeName, type Site, type SiteId } from '@duskline/domain';

/** Where the invented traces of power begin, and when their node was put up. */
export const traceStartMs = Date.UTC(2026, 3, 1);

/** The invented site and node of the traces of power. */
export const traceSite: Site = {
  id: 'thornhow' as SiteId,
  name: 'Thornhow',
  position: { latitudeDeg: 54.6, longitudeDeg: 0, elevationM: 120 },
  timeZone: 'Europe/London',
  access: '',
  hazards: '',
};
export const traceNode: FieldNode = {
  id: nodeId(4),
  name: 'thornhow-1' as NodeName,
  siteId: traceSite.id,
  power: {
    panel: { ratedW: 20, tiltDeg: 60, azimuthDeg: 180 },
    battery: { chemistry: 'lifepo4', ratedWh: 150, seriesCells: 4 },
    charger: 'mppt',
    shutDownRatio: 0.1,
    restartRatio: 0.6,
    offStateDrawW: 0.1,
    usualGapS: 60,
  },
  commissionedAtMs: traceStartMs,
};
