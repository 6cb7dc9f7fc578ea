import type {
  AlertJson,
  IssuedTokenJson,
  NewNodeJson,
  NewSiteJson,
  NewTokenJson,
  NodeSecretJson,
  OutlookJson,
  Problem,
  ReadingsJson,
  SessionJson,
  SignInJson,
} from '@duskline/contract';
import { historyExamples } from './history-examples.ts';
import { outlookExamples } from './outlook-examples.ts';
import { sizingExamples } from './sizing-examples.ts';
import { visitExamples } from './visit-examples.ts';

const signIn: SignInJson = {
  email: 'keeper@greywater.example',
  password: 'a long sentence nobody says',
};

const session: SessionJson = {
  name: 'Keeper',
  email: 'keeper@greywater.example',
  role: 'keeper',
  permissions: ['read', 'export', 'handle-alerts', 'change-nodes', 'arrange-people', 'administer'],
};

const newSite: NewSiteJson = {
  id: 'rushy-sluice',
  name: 'Rushy Sluice',
  latitudeDeg: 54.71,
  longitudeDeg: -2.31,
  elevationM: 412,
  timeZone: 'Europe/London',
  access: 'Track from the north gate, 20 minutes on foot. Take the sluice key.',
  hazards: 'The bank is undercut after rain; stay on the planks.',
};

const newNode: NewNodeJson = {
  name: 'rushy-sluice-1',
  panelW: 20,
  panelTiltDeg: 60,
  panelAzimuthDeg: 180,
  batteryChemistry: 'lifepo4',
  batteryWh: 154,
  seriesCells: 4,
  charger: 'mppt',
  shutDownRatio: 0.1,
  restartRatio: 0.5,
  offStateDrawW: 0.03,
  usualGapS: 300,
};

const nodeSecret: NodeSecretJson = {
  node: 'rushy-sluice-1',
  secret: 'Zm9yIHRoaXMgZXhhbXBsZSBvbmx5LCBub3QgYSBzZWM',
  broker: { scheme: 'mqtts', host: 'field.example.org', port: 8883 },
};

const newToken: NewTokenJson = { name: 'monthly figures', permissions: ['read'], days: 90 };

const issuedToken: IssuedTokenJson = {
  name: 'monthly figures',
  permissions: ['read'],
  expiresAt: '2027-02-23T09:00:00.000Z',
  token: 'dl_r_Zm9yIHRoaXMgZXhhbXBsZSBvbmx5LCBub3QgYSB0b2s',
};

const outlook: OutlookJson = {
  kind: 'empties-in',
  issuedAt: '2026-11-25T06:00:00.000Z',
  horizonDays: 30,
  p10Days: 1.6,
  p50Days: 2.4,
  p90Days: 3.9,
  darkWithin3DaysProbability: 0.71,
  darkWithin7DaysProbability: 0.97,
  darkWithin14DaysProbability: 0.99,
  missing: null,
  have: null,
  need: null,
  back: null,
  drivers: {
    harvestWhPerDay: 9.4,
    loadWhPerDay: 21.6,
    reserveWh: 29.3,
    noSunReserveDays: 1.36,
    harvestRatio: 0.34,
    historyDays: 42,
  },
  model: 'example',
  seed: 7,
};

const alert: AlertJson = {
  id: '41',
  siteId: 'rushy-sluice',
  siteName: 'Rushy Sluice',
  rule: 'empties-soon',
  priority: 'P2',
  state: 'new',
  openedAt: '2026-11-25T06:01:00.000Z',
  takenAt: null,
  takenBy: null,
  endedAt: null,
  paused: null,
  handed: null,
  sentence: 'Rushy Sluice will likely stop between Thu and Sat.',
  figures: 'Charge 29 %, harvest 9 Wh a day, load 22 Wh a day.',
  byWhen: 'Thu 26 Nov',
  todo: 'Look at the panel: leaves, snow, dirt, cable.',
  bring: 'Brush, water, meter, spare battery.',
  cautions: ['A panel in daylight is live and cannot be switched off: cover it first.'],
  also: [],
};

const readings: ReadingsJson = {
  metric: 'batt_v',
  label: 'Battery voltage',
  unit: 'V',
  source: 'hour',
  stepS: 3600,
  gapS: 5400,
  points: [{ at: '2026-11-25T05:00:00.000Z', mean: 13.02, min: 12.98, max: 13.11, count: 12 }],
};

const problem: Problem = {
  type: '/api/v1/problems/levels-crossed',
  title: 'The restart level must be above the shut-down level',
  status: 422,
  detail:
    'The restart level 0.1 is not above the shut-down level 0.2: raise it or lower the other.',
  code: 'levels-crossed',
  errors: [{ pointer: '/restartRatio', detail: 'must be above 0.2' }],
};

/** What the document shows beside a component, by name. Each is valid, and a test says so. */
export const examples: Readonly<Record<string, readonly unknown[]>> = {
  ...outlookExamples,
  ...visitExamples,
  ...historyExamples(outlook),
  SignIn: [signIn],
  Session: [session],
  NewSite: [newSite],
  NewNode: [newNode],
  NodeSecret: [nodeSecret],
  NewToken: [newToken],
  IssuedToken: [issuedToken],
  Outlook: [outlook],
  Alert: [alert],
  Readings: [readings],
  SizingRequest: [sizingExamples.sizingRequest],
  Sizing: [sizingExamples.sizing],
  RuntimeRequest: [sizingExamples.runtimeRequest],
  Runtime: [sizingExamples.runtime],
  Problem: [problem],
};
