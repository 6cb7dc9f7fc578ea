import {
  accountId,
  alertId,
  nodeId,
  parseNodeName,
  parseSiteId,
  type Account,
  type Alert,
  type FieldNode,
  type NodeName,
  type Outlook,
  type Role,
  type Site,
  type SiteId,
  type SiteView,
} from '@duskline/domain';
import { createHash } from 'node:crypto';

export const NOW_MS = Date.parse('2026-11-25T07:02:00Z');
export const PASSWORD = 'nine herons over the weir';

export const sha256 = (text: string): Uint8Array => createHash('sha256').update(text).digest();

export function siteIdOf(text: string): SiteId {
  const id = parseSiteId(text);
  if (id === undefined) throw new Error(`no site id: ${text}`);
  return id;
}
export function nodeNameOf(text: string): NodeName {
  const name = parseNodeName(text);
  if (name === undefined) throw new Error(`no node name: ${text}`);
  return name;
}

export const rushySluice: Site = {
  id: siteIdOf('rushy-sluice'),
  name: 'Rushy Sluice',
  position: { latitudeDeg: 54.71, longitudeDeg: -2.31, elevationM: 412 },
  timeZone: 'Europe/London',
  access: 'Track from the north gate.',
  hazards: 'Undercut bank.',
};
export const tarnGill: Site = { ...rushySluice, id: siteIdOf('tarn-gill'), name: 'Tarn Gill' };

export const rushyNode: FieldNode = {
  id: nodeId(7),
  name: nodeNameOf('rushy-sluice-1'),
  siteId: rushySluice.id,
  power: {
    panel: { ratedW: 20, tiltDeg: 60, azimuthDeg: 180 },
    battery: { chemistry: 'lifepo4', ratedWh: 154, seriesCells: 4 },
    charger: 'mppt',
    shutDownRatio: 0.1,
    restartRatio: 0.5,
    offStateDrawW: 0.03,
    usualGapS: 300,
  },
  commissionedAtMs: Date.parse('2026-09-01T10:00:00Z'),
};

const HOUR = 3_600_000;

export const rushyOutlook: Outlook = {
  kind: 'empties-in',
  issuedAtMs: Date.parse('2026-11-25T06:00:00Z'),
  horizonDays: 30,
  model: 'fake',
  seed: 3,
  p10Days: 1.5,
  p50Days: 2.25,
  darkWithin3DaysProbability: 0.7,
  darkWithin7DaysProbability: 0.85,
  darkWithin14DaysProbability: 0.88,
  fan: {
    startMs: Date.parse('2026-11-25T06:00:00Z'),
    stepMs: HOUR,
    p10: Array.from({ length: 720 }, (_, i) => Math.max(0, 0.294 - i / 200)),
    p50: Array.from({ length: 720 }, (_, i) => Math.max(0, 0.3 - i / 400)),
    p90: Array.from({ length: 720 }, () => 0.306),
  },
  drivers: {
    harvestWhPerDay: 9,
    loadWhPerDay: 22,
    reserveWh: 30,
    noSunReserveDays: 1.4,
    harvestRatio: 0.3,
    historyDays: 40,
  },
};

export const rushyAlert: Alert = {
  id: alertId('41'),
  nodeId: rushyNode.id,
  siteId: rushySluice.id,
  rule: 'empties-soon',
  priority: 'P2',
  state: 'new',
  openedAtMs: Date.parse('2026-11-25T06:01:00Z'),
  text: {
    sentence: 'Rushy Sluice will likely stop between Thu and Sat.',
    figures: 'Charge 30 %.',
    byWhen: 'Thu',
    todo: 'Look at the panel.',
    bring: 'Brush.',
    cautions: ['A panel in daylight is live: cover it first.'],
  },
};

export const rushyView: SiteView = {
  site: rushySluice,
  node: rushyNode,
  version: 12,
  verdict: {
    state: 'low',
    sinceMs: Date.parse('2026-11-25T03:00:00Z'),
    cause: 'Charge is 30 %.',
    settledBy: 'A clear day.',
    evidence: ['Four days of thick cloud.'],
  },
  charge: {
    ratio: 0.3,
    lowRatio: 0.24,
    highRatio: 0.36,
    method: 'gauge',
    observedAtMs: Date.parse('2026-11-25T07:00:00Z'),
  },
  lastHeardAtMs: Date.parse('2026-11-25T07:00:05Z'),
  outlook: rushyOutlook,
  alerts: [rushyAlert],
};

export const accountOf = (role: Role): Account => ({
  id: accountId(`id-${role}`),
  email: `${role}@greywater.example`,
  name: role,
  role,
});
