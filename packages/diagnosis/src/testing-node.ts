import {
  DAY_MS,
  nodeId,
  type ChargeEstimate,
  type FieldNode,
  type NodeName,
  type Site,
  type SiteId,
} from '@duskline/domain';

/** An invented node as it is looked at in late November, for tests only. */
export const nowMs = Date.UTC(2026, 10, 25, 7);
export const site: Site = {
  id: 'long-moss' as SiteId,
  name: 'Long Moss',
  position: { latitudeDeg: 54.6, longitudeDeg: -2.4, elevationM: 210 },
  timeZone: 'Europe/London',
  access: '',
  hazards: '',
};
export const node: FieldNode = {
  id: nodeId(1),
  name: 'long-moss-1' as NodeName,
  siteId: site.id,
  power: {
    panel: { ratedW: 10, tiltDeg: 65, azimuthDeg: 180 },
    battery: { chemistry: 'lifepo4', ratedWh: 100, seriesCells: 4 },
    charger: 'mppt',
    shutDownRatio: 0.1,
    restartRatio: 0.6,
    offStateDrawW: 0.1,
    usualGapS: 60,
  },
  commissionedAtMs: nowMs - 300 * DAY_MS,
};

/** What a gauge says, to four points. */
export const gaugedAt = (observedAtMs: number, ratio: number): ChargeEstimate => ({
  ratio,
  lowRatio: ratio - 0.04,
  highRatio: ratio + 0.04,
  method: 'gauge',
  observedAtMs,
});
