import type { AlertJson, FleetRowJson, OutlookJson, SiteJson } from '@duskline/contract';

/** Builders for tests: a calm site, and what differs. Wednesday 25 November 2026, 07:02 UTC. */
export const fixtureNow = '2026-11-25T07:02:00Z';

export const outlookFixture = (over: Partial<OutlookJson> = {}): OutlookJson => ({
  kind: 'beyond-horizon',
  issuedAt: fixtureNow,
  horizonDays: 30,
  p10Days: null,
  p50Days: null,
  p90Days: null,
  darkWithin3DaysProbability: 0,
  darkWithin7DaysProbability: 0,
  darkWithin14DaysProbability: 0,
  missing: null,
  have: null,
  need: null,
  back: null,
  drivers: null,
  model: 'test',
  seed: 1,
  ...over,
});

export const siteFixture = (over: Partial<SiteJson> = {}): SiteJson => ({
  id: 'high-cairn',
  name: 'High Cairn',
  timeZone: 'Europe/London',
  latitudeDeg: 54.6,
  longitudeDeg: -2.8,
  elevationM: 410,
  node: 'high-cairn',
  version: 1,
  state: 'up',
  stateSince: null,
  stateCause: null,
  stateSettledBy: null,
  stateEvidence: [],
  chargeRatio: 0.9,
  chargeLowRatio: 0.86,
  chargeHighRatio: 0.94,
  chargeMethod: 'gauge',
  chargeAt: fixtureNow,
  shutDownRatio: 0.1,
  restartRatio: 0.3,
  lastHeardAt: fixtureNow,
  outlook: outlookFixture(),
  alerts: [],
  ...over,
});

export const rowFixture = (over: Partial<SiteJson> = {}): FleetRowJson => ({
  site: siteFixture(over),
  week: { start: '2026-11-18T07:00:00Z', stepS: 3600, percent: [90, 91, null, 89] },
  fan: null,
  nights: [],
});

export const alertFixture = (over: Partial<AlertJson> = {}): AlertJson => ({
  id: 'a1',
  siteId: 'high-cairn',
  siteName: 'High Cairn',
  rule: 'charge-low-now',
  priority: 'P2',
  state: 'new',
  openedAt: fixtureNow,
  takenAt: null,
  takenBy: null,
  endedAt: null,
  paused: null,
  handed: null,
  sentence: 'High Cairn is low.',
  figures: 'Charge 12 %.',
  byWhen: 'today',
  todo: 'Visit.',
  bring: 'A charged battery.',
  cautions: [],
  also: [],
  ...over,
});
