import { DAY_MS, MINUTE_MS, type Outlook } from '@duskline/domain';
import {
  charge,
  figures,
  likely,
  outlook,
  outOfReach,
  startMs,
  verdict,
  type Given,
} from '../testing.ts';

/** Conditions, delays and quiet cases of the rationalisation table (project choices of the trade document, common practice). */
export interface Case {
  readonly fires: Given;
  /** Near it, and rightly silent. */
  readonly silent: Given;
  /** What the fires case becomes when the cause is gone. */
  readonly over: Given;
}

/** One node for each rule; for tests only. */
export const usualCases: Readonly<Record<string, Case>> = {
  'charge-low': {
    fires: { charge: charge(0.15) },
    silent: { charge: charge(0.15), acceptedGap: { untilMs: startMs + 90 * DAY_MS, by: 'Ines' } },
    over: { charge: charge(0.5) },
  },
  'forecast-low': {
    fires: { outlook: outlook(0.8) },
    silent: { outlook: outlook(0.5) },
    over: { outlook: outlook(0.1) },
  },
  overdue: {
    fires: { verdict: verdict('overdue'), brightHoursOverdue: 6 },
    silent: { verdict: verdict('overdue'), brightHoursOverdue: 6, power: likely('snow') },
    over: {},
  },
  'restart-out-of-reach': {
    fires: { verdict: verdict('dark-as-designed'), outlook: outOfReach },
    silent: {
      verdict: verdict('dark-as-designed'),
      outlook: { kind: 'insufficient-data' } as Outlook,
    },
    over: {},
  },
  'silent-unexplained': {
    fires: { verdict: verdict('silent-unexplained') },
    silent: { verdict: verdict('silent-unexplained'), fleetRules: ['shared-link-down'] },
    over: {},
  },
  tamper: {
    fires: {
      lastHeardAtMs: startMs - 40 * MINUTE_MS,
      housekeeping: { tamper: { atMs: startMs - 50 * MINUTE_MS, says: 'Panel to 0 V' } },
    },
    silent: {
      visitUnderWay: true,
      lastHeardAtMs: startMs - 40 * MINUTE_MS,
      housekeeping: { tamper: { atMs: startMs - 50 * MINUTE_MS, says: 'Box opened' } },
    },
    over: {},
  },
  'data-cap': {
    fires: {
      housekeeping: {
        data: {
          usedBytes: 9e7,
          expectedBytes: 1.1e8,
          capBytes: 1e8,
          renewsAtMs: startMs + 5 * DAY_MS,
        },
      },
    },
    silent: {
      housekeeping: {
        data: {
          usedBytes: 5e7,
          expectedBytes: 9e7,
          capBytes: 1e8,
          renewsAtMs: startMs + 5 * DAY_MS,
        },
      },
    },
    over: {
      housekeeping: {
        data: {
          usedBytes: 1e6,
          expectedBytes: 5e7,
          capBytes: 1e8,
          renewsAtMs: startMs + 25 * DAY_MS,
        },
      },
    },
  },
  'charging-fault': {
    fires: { figures: figures({ badDays: 2, goodDays: 0 }), power: likely('connector') },
    silent: { figures: figures({ badDays: 3, goodDays: 0 }), power: likely('too-cold') },
    over: { figures: figures({}) },
  },
  'yield-loss': {
    fires: { figures: figures({ yieldChange: 0.7 }), power: likely('soiling') },
    silent: { figures: figures({ yieldChange: 0.7 }), power: likely('snow') },
    over: { figures: figures({ yieldChange: 0.97 }) },
  },
  'battery-temperature': {
    fires: { readings: { batt_temp: -3, batt_i: 1.2 } },
    silent: { readings: { batt_temp: -3, batt_i: 0 } },
    over: { readings: { batt_temp: 8, batt_i: 1.2 } },
  },
  'load-abnormal': {
    fires: { figures: figures({ loadChange: 1.8, recentLoadW: 2.7, usualLoadW: 1.5 }) },
    silent: {
      figures: figures({ loadChange: 1.8 }),
      housekeeping: {
        settingsRequest: { requestedAtMs: startMs + 9 * DAY_MS, inForce: true, says: '' },
      },
    },
    over: { figures: figures({ loadChange: 1 }) },
  },
  'battery-ageing': {
    fires: { figures: figures({ capacityShare: 0.6, capacityCycles: 3 }) },
    silent: { figures: figures({ capacityShare: 0.6, capacityCycles: 1 }) },
    over: { figures: figures({ capacityShare: 0.95, capacityCycles: 4 }) },
  },
  'sensor-fault': {
    fires: {
      housekeeping: { sensors: [{ metric: 'air_temp', badShare: 0.5, why: 'flat for 9 h' }] },
    },
    silent: { housekeeping: { sensors: [{ metric: 'air_temp', badShare: 0.1, why: 'spikes' }] } },
    over: { housekeeping: { sensors: [{ metric: 'air_temp', badShare: 0, why: '' }] } },
  },
  'clock-wrong': {
    fires: { housekeeping: { clockOffsetS: 240 } },
    silent: { housekeeping: { clockOffsetS: 240, sendsRelativeTimes: true } },
    over: { housekeeping: { clockOffsetS: 1 } },
  },
  'storage-full': {
    fires: { housekeeping: { storageDaysToFull: 10 } },
    silent: { housekeeping: { storageDaysToFull: 30 } },
    over: { housekeeping: { storageDaysToFull: 90 } },
  },
  'repeated-restarts': {
    fires: { housekeeping: { bootsIn24h: 4 } },
    silent: { housekeeping: { bootsIn24h: 4 }, visitUnderWay: true },
    over: { housekeeping: { bootsIn24h: 0 } },
  },
  'box-climate': {
    fires: { figures: figures({ boxRhDayMeanPercent: 96 }) },
    silent: { figures: figures({ boxRhDayMeanPercent: 88 }) },
    over: { figures: figures({ boxRhDayMeanPercent: 50 }) },
  },
  'signal-failing': {
    fires: { housekeeping: { signalChangeDb: -9 } },
    silent: { housekeeping: { signalChangeDb: -4 } },
    over: { housekeeping: { signalChangeDb: 0 } },
  },
  'settings-not-in-force': {
    fires: {
      housekeeping: {
        settingsRequest: {
          requestedAtMs: startMs - 4 * DAY_MS,
          firstContactAtMs: startMs - 3 * DAY_MS,
          inForce: false,
          says: 'Log every 5 min',
        },
      },
    },
    silent: {
      housekeeping: {
        settingsRequest: {
          requestedAtMs: startMs - 4 * DAY_MS,
          inForce: false,
          says: 'Log every 5 min',
        },
      },
    },
    over: {
      housekeeping: {
        settingsRequest: { requestedAtMs: startMs - 4 * DAY_MS, inForce: true, says: '' },
      },
    },
  },
};
