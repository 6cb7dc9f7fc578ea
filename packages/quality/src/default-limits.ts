import {
  HOUR_MS,
  metric,
  type CrossLimits,
  type MetricKey,
  type MetricLimits,
} from '@duskline/domain';

const hours = (count: number): number => (count * HOUR_MS) / 1000;
/** A limit for the change of one-minute values: over less than a minute the whole of it is allowed. */
const perMinute = (step: number) => ({ suspectPerS: step / 60, leastS: 60 });

/**
 * Limits beside the fail span that the catalogue has. WMO: Zahumenský, Guidelines on Quality Control Procedures for Data from
 * Automatic Weather Stations (2004), as cited by a university network of climate stations (geovetarcentrum/climate-stations),
 * steps of one-minute values. Windows of flat lines and what has no source here are our choice.
 */
const beside: Readonly<Partial<Record<MetricKey, MetricLimits>>> = {
  batt_v: { spike: { suspect: 0.5 }, flatLine: { tolerance: 0.001, suspectS: hours(6) } },
  batt_temp: { rate: perMinute(2) },
  air_temp: {
    spike: { suspect: 3 },
    rate: perMinute(3),
    flatLine: { tolerance: 0.1, suspectS: hours(2) },
    neighbour: { suspect: 8 },
  },
  rel_hum: {
    suspectSpan: [0, 100],
    spike: { suspect: 15 },
    rate: perMinute(15),
    flatLine: { tolerance: 1, suspectS: hours(5) },
    neighbour: { suspect: 35 },
  },
  dew_point: { rate: perMinute(4) },
  air_press: {
    spike: { suspect: 2 },
    rate: perMinute(2),
    flatLine: { tolerance: 0.1, suspectS: hours(3) },
    neighbour: { suspect: 10 },
  },
  wind_speed: {
    rate: perMinute(20),
    flatLine: { tolerance: 0.5, suspectS: hours(3) },
  },
  wind_gust: { rate: perMinute(20), flatLine: { tolerance: 0.5, suspectS: hours(3) } },
  wind_dir: { flatLine: { tolerance: 10, suspectS: hours(3) } },
  irradiance: { rate: perMinute(800), flatLine: { tolerance: 0.5, suspectS: hours(1) } },
  lux: { flatLine: { tolerance: 1, suspectS: hours(1) } },
  soil_temp: { rate: perMinute(1), flatLine: { tolerance: 0.001, suspectS: hours(6) } },
  water_temp: { rate: perMinute(1), flatLine: { tolerance: 0.001, suspectS: hours(6) } },
};

/** The limits of a metric as they come out of the box: the fail span of the catalogue, and those beside it. */
export const defaultLimits = (key: MetricKey): MetricLimits => ({
  failSpan: metric(key).span,
  ...beside[key],
});

/** Common practice, no source, except the clear-sky ratio (trade practice) and dew point, gust (physics). */
export const defaultCrossLimits: CrossLimits = {
  nightBelowDeg: -6,
  panelWAtNight: 0.1,
  panelAAtNight: 0.02,
  panelVAtNight: 5,
  dewPointAboveAirC: 0.1,
  gustBelowMeanMs: 0,
  clearSkyRatio: 1.3,
  clearSkyS: 600,
  clearSkyLeastWPerM2: 50,
  chargeJumpPct: 10,
  chargeJumpS: 300,
  currentA: 0.1,
  currentBelowWPerM2: 5,
  rainMm: 0,
  rainBelowRhPct: 60,
};
