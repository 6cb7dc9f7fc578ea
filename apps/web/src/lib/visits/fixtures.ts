import type { RoundsJson, VisitJson } from '@duskline/contract';

/** Builders for tests: a visit that is planned, and a site that somebody must go to; only what differs is given. */
export const visitFixture = (over: Partial<VisitJson> = {}): VisitJson => ({
  id: 'v1',
  siteId: 'high-cairn',
  siteName: 'High Cairn',
  timeZone: 'Europe/London',
  roundId: null,
  place: null,
  plannedAt: '2026-11-26T09:00:00Z',
  personId: 'p1',
  person: 'Ash Harrow',
  why: 'The panel.',
  plannedBy: 'Wren Halloway',
  state: 'planned',
  setOutAt: null,
  backBy: null,
  companions: '',
  backAt: null,
  found: '',
  deeds: [],
  calledOffWhy: null,
  ticked: [],
  cautionsRead: [],
  notes: [],
  verdicts: [],
  ...over,
});

type SiteInNeed = RoundsJson['sites'][number];

export const needFixture = (over: Partial<SiteInNeed> = {}): SiteInNeed => ({
  siteId: 'high-cairn',
  siteName: 'High Cairn',
  timeZone: 'Europe/London',
  latitudeDeg: 54.6,
  longitudeDeg: -2.8,
  state: 'up',
  needsSomeone: false,
  need: { kind: 'no-need', at: null, because: [] },
  purpose: '',
  savedDays: null,
  tripHours: 1,
  savedPerHour: null,
  bring: [],
  lastDaylight: null,
  daylight: [],
  planned: null,
  lastVisitAt: null,
  ...over,
});
