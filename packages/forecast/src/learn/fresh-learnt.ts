import type { PowerSystem } from '@duskline/domain';
import {
  LEARNT_VERSION,
  type LearntBattery,
  type LearntLoad,
  type LearntPanel,
  type LearntPart,
  type LearntSite,
  type LearntWeather,
} from './learnt-site.ts';

/** 10 % and 90 % ends of a normal band, in standard deviations from its middle. */
export const BAND_SIGMAS = 1.2816;
/** Doubt about a capacity of which only the nameplate is known: project research note §7.3, prior σ 0.1. */
export const HEALTH_PRIOR_SIGMA = 0.1;
/** Band of a panel of which only the nameplate is known. Assumption, no source. */
const SCALE_PRIOR_BAND = [0.6, 1.05] as const;

/** What is known of a part by its nameplate alone. */
export const freshParts: {
  readonly panel: (untilMs: number) => LearntPanel;
  readonly battery: (untilMs: number, ratedWh: number) => LearntBattery;
  readonly load: (untilMs: number) => LearntLoad;
  readonly weather: (untilMs: number) => LearntWeather;
} = {
  panel: (untilMs) => ({
    untilMs,
    scale: {
      value: 1,
      low: SCALE_PRIOR_BAND[0],
      high: SCALE_PRIOR_BAND[1],
      unit: 'ratio',
      fromDays: 0,
      sureness: 'assumed',
      how: 'Nothing seen yet: the panel is taken at its nameplate.',
    },
    shade: [],
  }),
  battery: (untilMs, ratedWh) => {
    const band = BAND_SIGMAS * HEALTH_PRIOR_SIGMA;
    const how = 'Nothing seen yet: the battery is taken at its nameplate, give or take a tenth.';
    const common = { fromDays: 0, sureness: 'assumed', how } as const;
    return {
      untilMs,
      health: { value: 1, low: 1 - band, high: 1 + band, unit: 'ratio', ...common },
      capacityWh: {
        value: ratedWh,
        low: ratedWh * (1 - band),
        high: ratedWh * (1 + band),
        unit: 'Wh',
        ...common,
      },
      filter: { ratio: 1, variance: HEALTH_PRIOR_SIGMA ** 2, atMs: untilMs },
      swings: 0,
    };
  },
  load: (untilMs) => ({
    untilMs,
    level: {
      value: 0,
      low: 0,
      high: 0,
      unit: 'Wh/day',
      fromDays: 0,
      sureness: 'assumed',
      how: 'Nothing seen yet: no load reading, and no night with charge readings.',
    },
    byUtcHourW: [],
    daySigma: 0,
    from: 'unknown',
    steps: [],
  }),
  weather: (untilMs) => ({
    untilMs,
    days: [],
    typicalRatio: {
      value: 0.5,
      low: 0.1,
      high: 1,
      unit: 'ratio',
      fromDays: 0,
      sureness: 'assumed',
      how: 'No day seen yet: half of a cloudless sky is taken.',
    },
  }),
};

/**
 * The state of a node that has taught nothing yet.
 *
 * @param power  its nameplates
 * @param atMs   everything observed from here on may teach, and everything before
 */
export function freshLearnt(power: PowerSystem, atMs: number): LearntSite {
  return {
    version: LEARNT_VERSION,
    untilMs: atMs,
    panel: freshParts.panel(atMs),
    battery: freshParts.battery(atMs, power.battery.ratedWh),
    load: freshParts.load(atMs),
    weather: freshParts.weather(atMs),
  };
}

/**
 * Forgets one part, because the thing itself was replaced: it is learnt again from readings after `atMs` alone.
 *
 * @param atMs  when it was replaced
 * @returns a new state; the other parts are kept as they are
 */
export function resetLearnt(state: LearntSite, part: LearntPart, atMs: number): LearntSite {
  switch (part) {
    case 'panel': {
      // The yields seen so far carry the old panel in them; the new one starts at its plate.
      const days = state.weather.days.map((day) => ({
        ...day,
        ratio: day.ratio / Math.max(0.05, state.panel.scale.value),
      }));
      const panel = { ...freshParts.panel(atMs), sinceMs: atMs };
      return { ...state, panel, weather: { ...state.weather, days } };
    }
    case 'battery': {
      const ratedWh = state.battery.capacityWh.value / state.battery.health.value;
      return { ...state, battery: { ...freshParts.battery(atMs, ratedWh), sinceMs: atMs } };
    }
    case 'load':
      return { ...state, load: { ...freshParts.load(atMs), sinceMs: atMs } };
    case 'weather':
      return { ...state, weather: { ...freshParts.weather(atMs), sinceMs: atMs } };
  }
}
