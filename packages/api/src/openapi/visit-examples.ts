import type {
  CalendarAddressJson,
  CalendarFeedJson,
  FieldSheetJson,
  LandOwnerJson,
  MoveVisitJson,
  NewRoundJson,
  NewVisitJson,
  RoundsJson,
  VisitJson,
  VisitListJson,
  VisitPageJson,
  VisitStepsJson,
} from '@duskline/contract';

const newVisit: NewVisitJson = {
  id: '7d1f2a34-5b66-4c1e-9a70-3f2b1c0d9e88',
  siteId: 'rushy-sluice',
  at: '2026-11-26T09:00:00.000Z',
  why: 'Nothing comes from the panel.',
};

const moveVisit: MoveVisitJson = {
  at: '2026-11-27T08:30:00.000Z',
  why: 'The ford is in flood today.',
};

const newRound: NewRoundJson = {
  siteIds: ['rushy-sluice', 'tarn-gill'],
  at: '2026-11-26T09:00:00.000Z',
  times: ['2026-11-26T09:00:00.000Z', '2026-11-26T09:50:00.000Z'],
  why: 'Both must be seen before Friday.',
};

const visit: VisitJson = {
  id: '7d1f2a34-5b66-4c1e-9a70-3f2b1c0d9e88',
  siteId: 'rushy-sluice',
  siteName: 'Rushy Sluice',
  timeZone: 'Europe/London',
  roundId: null,
  place: null,
  plannedAt: '2026-11-26T09:00:00.000Z',
  personId: '2c2a6c0e-0d6a-4b8e-8f43-1d4f0b1f9a11',
  person: 'Ash Fell',
  why: 'Nothing comes from the panel.',
  plannedBy: 'Wren Halloway',
  moves: [
    {
      at: '2026-11-25T08:00:00.000Z',
      by: 'Wren Halloway',
      why: 'The ford is in flood today.',
      fromAt: '2026-11-25T09:00:00.000Z',
      toAt: '2026-11-26T09:00:00.000Z',
      fromPerson: 'Moss Tarn',
      toPerson: 'Ash Fell',
    },
  ],
  state: 'done',
  setOutAt: '2026-11-26T09:10:00.000Z',
  backBy: '2026-11-26T14:00:00.000Z',
  companions: 'Moss Tarn',
  backAt: '2026-11-26T12:40:00.000Z',
  found: 'Connector corroded through.',
  deeds: ['mended-cable', 'cleaned-panel'],
  calledOffWhy: null,
  ticked: ['connector-1', 'first-1'],
  cautionsRead: ['electricity', 'height', 'lithium', 'lone-work', 'no-risk-assessment', 'site'],
  notes: [{ at: '2026-11-26T11:02:00.000Z', text: '19.8 V open, 0 A with the connector made.' }],
  verdicts: [
    {
      horizon: '48h',
      kind: 'judged',
      says: '48 hours after the visit: yield +18 % (eight in ten between +11 % and +25 %, weather taken out by the other sites).',
      yieldChange: 0.18,
      lowChange: 0.11,
      highChange: 0.25,
      gainWhPerDay: 1.4,
      reserve: { beforeWh: 31, afterWh: 58, beforeDays: 1.4, afterDays: 2.6 },
    },
  ],
};

// Of the numbers that are given to nobody, for plays and films.
const landOwner: LandOwnerJson = { name: 'Hob Farm', phone: '+44 1632 960210' };

const sheet: FieldSheetJson = {
  siteId: 'rushy-sluice',
  siteName: 'Rushy Sluice',
  latitudeDeg: 54.71,
  longitudeDeg: -2.31,
  elevationM: 412,
  timeZone: 'Europe/London',
  access: 'Track from the north gate, 20 minutes on foot. Take the sluice key.',
  hazards: 'The bank is undercut after rain; stay on the planks.',
  landOwner,
  node: 'rushy-sluice-1',
  madeAt: '2026-11-26T07:00:00.000Z',
  state: {
    state: 'low',
    since: '2026-11-25T03:00:00.000Z',
    cause: 'Charge is 29 %.',
    settledBy: null,
    evidence: ['Nothing from the panel for two days.'],
  },
  chargeSays: 'Charge 29 % (26 % to 32 %), at Thu 26 Nov 06:58.',
  lastHeardAt: '2026-11-26T06:58:00.000Z',
  need: {
    kind: 'by',
    at: '2026-11-27T06:00:00.000Z',
    because: ['10 % chance that it has stopped by Fri morning, 97 % within 7 days.'],
  },
  purpose:
    'Rushy Sluice will likely stop between Fri and Sat. Most likely panel connector failed (82 %). Look at panel, cable and connector. Bring: meter, spare connectors.',
  alerts: [
    {
      sentence: 'Rushy Sluice will likely stop between Fri and Sat.',
      todo: 'Look at panel, cable and connector.',
      bring: 'meter, spare connectors',
    },
  ],
  causes: [
    {
      cause: 'connector',
      name: 'panel connector failed',
      probability: 0.82,
      steps: [{ key: 'connector-1', says: 'Cover the panel before you part a connector.' }],
    },
  ],
  first: [{ key: 'first-1', says: 'Photograph the site as you find it.' }],
  last: [{ key: 'last-5', says: 'Close the box, lock it, take everything home.' }],
  bring: [{ what: 'spare connectors and crimping tool', because: 'panel connector failed' }],
  cautions: [
    {
      key: 'threat',
      says: 'If somebody is there who should not be: do not confront them, leave, and report it.',
    },
  ],
  daylight: [{ from: '2026-11-26T08:02:00.000Z', until: '2026-11-26T15:49:00.000Z' }],
};

const steps: VisitStepsJson = {
  steps: [
    {
      id: '0b6f3f7e-94a1-4e38-8f3a-4a1d5b7c9f01',
      at: '2026-11-26T09:10:00.000Z',
      kind: 'set-out',
      backBy: '2026-11-26T14:00:00.000Z',
      companions: 'Moss Tarn',
      cautions: ['threat'],
    },
    {
      id: '0b6f3f7e-94a1-4e38-8f3a-4a1d5b7c9f02',
      at: '2026-11-26T12:40:00.000Z',
      kind: 'back',
      found: 'Connector corroded through.',
      deeds: ['mended-cable', 'cleaned-panel'],
    },
  ],
};

const rounds: RoundsJson = {
  madeAt: '2026-11-26T07:00:00.000Z',
  travel: {
    fromLatitudeDeg: 54.6,
    fromLongitudeDeg: -2.2,
    speedKmh: 35,
    hoursAtSite: 0.75,
    mostHours: 7.3,
    mostStops: 6,
    says: 'Distances are great-circle distances, not roads; hours reckon with 35 km/h along them and 45 min at each site, from home and back. A round fits into a day’s light there, back 30 min before dark: 7.3 h at most.',
  },
  sites: [
    {
      siteId: 'rushy-sluice',
      siteName: 'Rushy Sluice',
      timeZone: 'Europe/London',
      latitudeDeg: 54.71,
      longitudeDeg: -2.31,
      state: 'low',
      need: sheet.need,
      purpose: sheet.purpose ?? '',
      savedDays: 11.2,
      tripHours: 1.56,
      savedPerHour: 7.2,
      bring: ['spare connectors and crimping tool'],
      needsSomeone: true,
      lastDaylight: { from: '2026-11-26T08:02:00.000Z', until: '2026-11-26T15:49:00.000Z' },
      daylight: [{ from: '2026-11-26T08:02:00.000Z', until: '2026-11-26T15:49:00.000Z' }],
      planned: null,
      lastVisitAt: '2026-10-02T11:00:00.000Z',
    },
  ],
  suggested: [
    {
      siteIds: ['rushy-sluice'],
      legsKm: [14.2, 14.2],
      distanceKm: 28.4,
      hours: 1.56,
      by: '2026-11-27T06:00:00.000Z',
      savedDays: 11.2,
      savedPerHour: 7.2,
      bring: [{ what: 'spare connectors and crimping tool', siteNames: ['Rushy Sluice'] }],
    },
  ],
};

const visitPage: VisitPageJson = { visit, sheet };
const visitList: VisitListJson = { visits: [visit] };
const calendarFeed: CalendarFeedJson = { madeAt: '2026-11-01T10:00:00.000Z' };
const calendarAddress: CalendarAddressJson = {
  madeAt: '2026-11-26T07:00:00.000Z',
  path: '/api/v1/calendars/Zm9yIHRoaXMgZXhhbXBsZSBvbmx5LCBub3QgYSBzZWM.ics',
};

/** Of rounds, visits and calendars: what the document shows beside their components. */
export const visitExamples = {
  NewVisit: [newVisit],
  NewRound: [newRound],
  MoveVisit: [moveVisit],
  Visit: [visit],
  VisitList: [visitList],
  VisitPage: [visitPage],
  VisitSteps: [steps],
  VisitStep: steps.steps,
  FieldSheet: [sheet],
  LandOwner: [landOwner],
  Rounds: [rounds],
  CalendarFeed: [calendarFeed],
  CalendarAddress: [calendarAddress],
} as const;
