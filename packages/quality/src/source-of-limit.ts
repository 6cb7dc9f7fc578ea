import type { CrossLimits, MetricKey, MetricLimits } from '@duskline/domain';

/** Read in the quality control notes of a university network of climate stations, which cite the guidelines. */
const WMO = 'WMO guidelines, Zahumenský 2004, at second hand';
const WMO_STEP = `${WMO}: the step of one-minute values there is taken for a spike here`;
const WMO_STILL = `how little after ${WMO}; how long is our choice`;
const TABLE = 'limits of a university weather network';
const CHOICE = 'our choice, no source';
const TRADE = 'trade practice for 12 V systems, no source';
const WHOLE = 'what the value can be by its nature';
const PHYSICS = 'physics';

/** Of fail spans; of what is not named here we chose them. Compare the comments of the catalogue of metrics. */
const spans: Readonly<Partial<Record<MetricKey, string>>> = {
  ...of(['air_temp', 'dew_point', 'air_press', 'wind_speed', 'wind_gust'], WMO),
  ...of(['irradiance'], TABLE),
  ...of(['batt_v', 'batt_i', 'panel_v', 'panel_i', 'panel_w', 'load_v', 'load_i', 'load_w'], TRADE),
  ...of(['charge', 'box_rh', 'soil_moist', 'avail_up', 'wind_dir', 'charge_stage'], WHOLE),
  ...of(['boot_cause', 'clock_src', 'fs_ro', 'box_open', 'tilt_move'], WHOLE),
};
const steps: readonly MetricKey[] = [
  'air_temp',
  'rel_hum',
  'dew_point',
  'air_press',
  'wind_speed',
  'wind_gust',
  'irradiance',
];
const variations: readonly MetricKey[] = [
  'air_temp',
  'rel_hum',
  'air_press',
  'wind_speed',
  'wind_gust',
  'wind_dir',
];

/** Where the default of a limit of one metric comes from, in words for people. */
export function sourceOfLimit(key: MetricKey, limit: keyof MetricLimits): string {
  switch (limit) {
    case 'failSpan':
      return spans[key] ?? CHOICE;
    case 'suspectSpan':
      return key === 'rel_hum' ? WMO : CHOICE;
    case 'spike':
      return steps.includes(key) ? WMO_STEP : CHOICE;
    case 'rate':
      return steps.includes(key) ? WMO : CHOICE;
    case 'flatLine':
      return variations.includes(key) ? WMO_STILL : CHOICE;
    case 'neighbour':
      return CHOICE;
  }
}

/** The same for the limits of readings that are held against each other or against the sun. */
export function sourceOfCrossLimit(limit: keyof CrossLimits): string {
  switch (limit) {
    case 'dewPointAboveAirC':
    case 'gustBelowMeanMs':
      return PHYSICS;
    case 'clearSkyRatio':
    case 'clearSkyS':
      return 'trade practice, no source';
    default:
      return 'common practice, no source';
  }
}

function of(keys: readonly MetricKey[], source: string): Partial<Record<MetricKey, string>> {
  return Object.fromEntries(keys.map((key) => [key, source]));
}
