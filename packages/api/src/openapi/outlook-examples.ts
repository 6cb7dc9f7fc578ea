import type {
  LearntResetJson,
  NewOutsideForecastJson,
  NewPartJson,
  OutsideForecastJson,
  PartJson,
  PartRemovalJson,
  PartReplacementJson,
  QualityLimitsJson,
  SetQualityLimitsJson,
  WhatHelpsJson,
  WhatIfAnswerJson,
  WhatIfJson,
} from '@duskline/contract';

const newPart: NewPartJson = {
  kind: 'panel',
  serial: 'GW-20-0417',
  maker: 'Invented Works, type 20',
  fittedAt: '2026-09-01T10:00:00.000Z',
  rated: { powerW: 20, voltageV: 18.2, currentA: 1.1 },
  notes: 'Facing south over the weir.',
};

const replacement: PartReplacementJson = {
  serial: 'GW-20-0533',
  maker: 'Invented Works, type 20',
  fittedAt: '2026-11-20T11:30:00.000Z',
  rated: { powerW: 20 },
};

const removal: PartRemovalJson = { removedAt: '2026-11-20T11:30:00.000Z' };

const part: PartJson = {
  id: '3',
  kind: 'panel',
  serial: 'GW-20-0417',
  maker: 'Invented Works, type 20',
  fittedAt: '2026-09-01T10:00:00.000Z',
  removedAt: null,
  rated: { powerW: 20, voltageV: 18.2, currentA: 1.1 },
  calibration: null,
  notes: 'Facing south over the weir.',
  replacedBy: null,
};

const reset: LearntResetJson = { part: 'panel', why: 'The birch in front of it was felled.' };

const whatIf: WhatIfJson = { kind: 'clean-panel', factor: 1.2 };

const whatIfAnswer: WhatIfAnswerJson = {
  kind: 'clean-panel',
  gainedDays: { p10: 0.4, p50: 1.1, p90: 3.2, mean: 1.4 },
  isAtLeast: false,
  concernedShare: 0.92,
  darkWithin14DaysBefore: 0.88,
  darkWithin14DaysAfter: 0.71,
  sentence: 'A clean panel would gain about one day.',
  caution: 'A panel in daylight is live and cannot be switched off: cover it first.',
};

const whatHelps: WhatHelpsJson = {
  at: '2026-11-25T06:00:00.000Z',
  helps: [whatIfAnswer],
  assumes: 'That the panel gives a fifth less than it did when it was clean.',
  missing: null,
};

const newOutsideForecast: NewOutsideForecastJson = {
  source: 'Moorland weather desk, ensemble of two',
  issuedAt: '2026-11-25T05:00:00.000Z',
  start: '2026-11-25T06:00:00.000Z',
  stepHours: 1,
  members: [
    { ghiWm2: [0, 12, 60, 110], airC: [1.5, 1.8, 2.4, null] },
    { ghiWm2: [0, 4, 21, 40], airC: [1.4, 1.6, 1.9, null] },
  ],
};

const outsideForecast: OutsideForecastJson = {
  id: '12',
  source: 'Moorland weather desk, ensemble of two',
  issuedAt: '2026-11-25T05:00:00.000Z',
  receivedAt: '2026-11-25T05:10:00.000Z',
  receivedFrom: 'Keeper',
  start: '2026-11-25T06:00:00.000Z',
  end: '2026-11-25T10:00:00.000Z',
  stepHours: 1,
  members: 2,
  says: ['irradiance', 'air temperature'],
  lastUsedAt: null,
  inForce: true,
};

const qualityLimits: QualityLimitsJson = {
  metrics: { batt_v: { failSpan: [0, 16], spike: { suspect: 0.8 }, flatLine: null } },
};

const practice = (limit: number) => ({
  limit,
  from: 'default' as const,
  source: 'common practice, no source',
});

const setQualityLimits: SetQualityLimitsJson = {
  limits: qualityLimits,
  setBy: 'Keeper',
  setAt: '2026-11-24T16:20:00.000Z',
  beneath: {
    metrics: {
      batt_v: {
        failSpan: {
          limit: [2, 60],
          from: 'default',
          source: 'trade practice for 12 V systems, no source',
        },
        spike: { limit: { suspect: 1 }, from: 'site', source: null },
      },
    },
    cross: {
      nightBelowDeg: practice(-6),
      panelWAtNight: practice(0.1),
      panelAAtNight: practice(0.02),
      panelVAtNight: practice(5),
      dewPointAboveAirC: practice(0.1),
      gustBelowMeanMs: practice(0),
      clearSkyRatio: practice(1.3),
      clearSkyS: practice(600),
      clearSkyLeastWPerM2: practice(50),
      chargeJumpPct: practice(10),
      chargeJumpS: practice(300),
      currentA: practice(0.1),
      currentBelowWPerM2: practice(5),
      rainMm: practice(0),
      rainBelowRhPct: practice(60),
    },
  },
};

/** Examples about parts, outlooks and quality, by the name of their component. */
export const outlookExamples: Readonly<Record<string, readonly unknown[]>> = {
  NewPart: [newPart],
  PartReplacement: [replacement],
  PartRemoval: [removal],
  Part: [part],
  PartList: [{ parts: [part] }],
  LearntReset: [reset],
  WhatIf: [whatIf],
  WhatIfAnswer: [whatIfAnswer],
  WhatHelps: [whatHelps],
  NewOutsideForecast: [newOutsideForecast],
  OutsideForecast: [outsideForecast],
  OutsideForecastList: [{ forecasts: [outsideForecast] }],
  QualityLimits: [qualityLimits],
  SetQualityLimits: [setQualityLimits],
};
