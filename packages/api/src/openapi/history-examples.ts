import type {
  AvailabilityJson,
  ExportEstimateJson,
  ExportJson,
  LearntJson,
  NewExportJson,
  OutlookJson,
  OutlookListJson,
  ScoreJson,
  SeasonJson,
} from '@duskline/contract';

const learnt: LearntJson = {
  node: 'rushy-sluice-1',
  learntAt: '2026-11-25T03:10:00.000Z',
  figures: [
    {
      part: 'panel',
      name: 'What the panel gives of a cloudless day',
      value: 0.78,
      low: 0.71,
      high: 0.84,
      unit: '',
      fromDays: 42,
      sureness: 'fair',
      how: 'Bright hours of the last weeks against the sun on its plane.',
    },
  ],
  remarks: ['The panel gives less than in the week before.'],
  since: [{ part: 'panel', since: '2026-11-20T11:30:00.000Z' }],
  shade: {
    bins: [{ season: 5, azimuthDeg: 165, lowDeg: 4, highDeg: 11, shadeRatio: 0.42, hours: 6.5 }],
    paths: [{ on: '12-21', azimuthDeg: [150, 180, 210], elevationDeg: [7.9, 11.9, 7.9] }],
  },
  resets: [
    {
      part: 'panel',
      since: '2026-11-20T11:30:00.000Z',
      at: '2026-11-20T16:02:00.000Z',
      by: 'Wren Halloway',
      why: 'The panel was replaced.',
    },
  ],
};

/** @param outlook as it was issued */
const outlookListOf = (outlook: OutlookJson): OutlookListJson => ({
  outlooks: [
    {
      id: '1764050400000',
      hindcast: false,
      reproducible: true,
      outlook,
      graded: { darkWithin7Days: true, outcome: 'happened', outcomeDays: 2.1, crpsDays: 0.24 },
    },
  ],
});

const season: SeasonJson = {
  at: '2026-11-25T07:00:00.000Z',
  months: [
    { month: '2026-11', darkProbability: 0.71, darkDays: 2.6, days: 5.7 },
    { month: '2026-12', darkProbability: 0.97, darkDays: 11.4, days: 31 },
    { month: '2027-01', darkProbability: 0.98, darkDays: 12.8, days: 31 },
  ],
  sentence: 'Dark about 27 days until the end of January, most of them in December and January.',
  missing: null,
};

const span = (value: number, low: number, high: number) => ({ value, low, high });
const score: ScoreJson = {
  now: '2026-11-25T07:00:00.000Z',
  from: '2025-11-25T07:00:00.000Z',
  of: 'all',
  chance: {
    withinDays: 7,
    count: 4120,
    hindcasts: 3650,
    events: 505,
    baseRate: 0.1226,
    brier: span(0.041, 0.036, 0.047),
    skillAgainstBaseRate: span(0.62, 0.57, 0.66),
    skillAgainstLastDay: span(0.48, 0.41, 0.54),
    skillAgainstLastWeek: span(0.31, 0.24, 0.38),
    skillAgainstNoSun: null,
    bins: [
      {
        from: 0.6,
        to: 0.7,
        count: 96,
        hindcasts: 88,
        meanChance: 0.65,
        observedShare: 0.67,
      },
    ],
  },
  days: {
    withinDays: 14,
    count: 3980,
    hindcasts: 3600,
    emptied: 610,
    nonTrivial: 1122,
    crpsDays: span(0.71, 0.62, 0.8),
    lastDayCrpsDays: span(1.6, 1.45, 1.76),
    lastWeekCrpsDays: span(1.22, 1.1, 1.35),
    noSunCrpsDays: span(2.9, 2.7, 3.1),
    skillAgainstLastWeek: span(0.42, 0.35, 0.48),
    cover80: span(0.81, 0.78, 0.84),
    tenths: [118, 109, 121, 104, 112, 117, 110, 108, 113, 110],
  },
  back: { count: 212, crpsDays: span(1.3, 1.1, 1.6), cover80: span(0.79, 0.72, 0.85) },
  unknown: 34,
  recalibration: { fittedAt: '2026-11-01T00:00:00.000Z', outcomes: 4120 },
  nodes: [
    {
      node: 'rushy-sluice-1',
      siteId: 'rushy-sluice',
      siteName: 'Rushy Sluice',
      outlooks: 206,
      hindcasts: 182,
      events: 31,
      brier: 0.044,
      crpsDays: 0.66,
      lastWeekCrpsDays: 1.2,
      cover80: 0.82,
      unknown: 2,
    },
  ],
};

const newExport: NewExportJson = {
  from: '2026-11-01T00:00:00Z',
  to: '2026-11-08T00:00:00Z',
  sites: ['rushy-sluice'],
  metrics: ['batt_v', 'air_temp'],
  format: 'zip',
  aggregate: '1h',
  localTime: true,
};

const estimate: ExportEstimateJson = { rows: 336, bytes: 24_368, sites: 1, fitsSpreadsheet: true };

const finished: ExportJson = {
  id: 7,
  state: 'done',
  by: 'Ida',
  query: newExport,
  version: 1,
  madeAt: '2026-11-25T07:00:00.000Z',
  finishedAt: '2026-11-25T07:00:02.000Z',
  expiresAt: '2026-12-09T07:00:00.000Z',
  fileName: 'duskline_rushy-sluice_2026-11-01_2026-11-08_hour_export-7_v1.zip',
  citation:
    'Duskline fleet, readings from 2026-11-01 to 2026-11-08, export 7, version 1, made 2026-11-25.',
  progress: null,
  rows: 336,
  bytes: 23_911,
  sha256: '9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08',
  note: null,
};

const share = (hours: number) => ({ hours, ratio: hours / 168 });
const availability: AvailabilityJson = {
  from: '2026-11-01T00:00:00Z',
  to: '2026-11-08T00:00:00Z',
  warning:
    'Gaps are not random: nodes go dark in dark, cold weather. Means over what is left are too bright and too warm.',
  fleet: { up: share(126), sites: 1, neverHeard: 0 },
  sites: [
    {
      id: 'rushy-sluice',
      name: 'Rushy Sluice',
      node: 'rushy-sluice-1',
      timeZone: 'Europe/London',
      since: '2026-11-01T00:00:00Z',
      up: share(126),
      darkAsDesigned: share(42),
      fault: share(0),
      link: share(0),
      clock: share(0),
      work: share(0),
      unknown: share(0),
      accepted: [],
    },
  ],
};

export const historyExamples = (outlook: OutlookJson) => ({
  Learnt: [learnt],
  OutlookList: [outlookListOf(outlook)],
  Season: [season],
  Score: [score],
  NewExport: [newExport],
  ExportEstimate: [estimate],
  Export: [finished],
  Availability: [availability],
});
