/* eslint-disable max-lines -- a table, one entry a metric */
/**
 * Every metric a node may report: one entry each, and nothing else to change for a new one.
 *
 * Units: SenML by RFC 8428 and RFC 8798, UCUM, UDUNITS; CF standard names from the CF table, version 85 (from memory).
 * Spans are gross-range fail spans for a 12 V system unless a source is named; they are defaults, which
 * people set anew for a site, a node or a part.
 */
export interface MetricEntry {
  readonly label: string;
  /** Shown beside numbers, with a thin space. */
  readonly unit: string;
  /** The one unit in which the metric is stored, as SenML writes it; undefined for codes and flags. */
  readonly senml: string | undefined;
  readonly ucum: string | undefined;
  readonly udunits: string | undefined;
  readonly cfName?: string;
  /** Gross-range fail span [low, high], in the stored unit. */
  readonly span: readonly [number, number];
  /** How an hour is summed up: the mean, the sum, the last value, the mean of a direction, or not at all. */
  readonly aggregate: 'mean' | 'sum' | 'last' | 'circular-mean' | 'count';
  /** Words for a value that is a code: `values[code]`. */
  readonly codes?: readonly string[];
  readonly decimals: number;
}

const entry = (e: MetricEntry): MetricEntry => e;

const volt = {
  unit: 'V',
  senml: 'V',
  ucum: 'V',
  udunits: 'V',
  aggregate: 'mean',
  decimals: 2,
} as const;
const ampere = {
  unit: 'A',
  senml: 'A',
  ucum: 'A',
  udunits: 'A',
  aggregate: 'mean',
  decimals: 3,
} as const;
const watt = {
  unit: 'W',
  senml: 'W',
  ucum: 'W',
  udunits: 'W',
  aggregate: 'mean',
  decimals: 2,
} as const;
const celsius = {
  unit: '°C',
  senml: 'Cel',
  ucum: 'Cel',
  udunits: 'degC',
  aggregate: 'mean',
  decimals: 1,
} as const;
const count = {
  unit: '',
  senml: 'count',
  ucum: '1',
  udunits: '1',
  aggregate: 'last',
  decimals: 0,
} as const;
const bytes = {
  unit: 'B',
  senml: 'B',
  ucum: 'By',
  udunits: 'byte',
  aggregate: 'last',
  decimals: 0,
} as const;
const flag = {
  unit: '',
  senml: undefined,
  ucum: undefined,
  udunits: undefined,
  aggregate: 'last',
  decimals: 0,
  span: [0, 1],
  codes: ['no', 'yes'],
} as const;

export const metricCatalogue = {
  // Power and node. Spans: trade practice for 12 V systems, no source, unless named.
  batt_v: entry({ ...volt, label: 'Battery voltage', span: [2, 60] }),
  batt_i: entry({ ...ampere, label: 'Battery current (+ charging)', span: [-60, 60] }),
  batt_temp: entry({ ...celsius, label: 'Battery temperature', span: [-40, 80] }),
  charge: entry({
    label: 'Charge',
    unit: '%',
    senml: '%EL',
    ucum: '%',
    udunits: 'percent',
    span: [0, 100],
    aggregate: 'mean',
    decimals: 0,
  }),
  energy_usable: entry({
    label: 'Usable energy',
    unit: 'Wh',
    senml: 'Wh',
    ucum: 'W.h',
    udunits: 'W h',
    span: [0, 20_000],
    aggregate: 'last',
    decimals: 1,
  }),
  capacity_est: entry({
    label: 'Capacity estimate',
    unit: 'Ah',
    senml: 'Ah',
    ucum: 'A.h',
    udunits: 'A h',
    span: [0, 2_000],
    aggregate: 'last',
    decimals: 1,
  }),
  batt_resist: entry({
    label: 'Battery resistance',
    unit: 'Ω',
    senml: 'Ohm',
    ucum: 'Ohm',
    udunits: 'ohm',
    span: [0, 5],
    aggregate: 'mean',
    decimals: 3,
  }),
  panel_v: entry({ ...volt, label: 'Panel voltage', span: [0, 120] }),
  panel_i: entry({ ...ampere, label: 'Panel current', span: [0, 60] }),
  panel_w: entry({ ...watt, label: 'Panel power', span: [0, 2_000] }),
  charge_stage: entry({
    label: 'Charge stage',
    unit: '',
    senml: undefined,
    ucum: undefined,
    udunits: undefined,
    span: [0, 4],
    aggregate: 'last',
    decimals: 0,
    codes: ['night', 'bulk', 'taper', 'float', 'blocked'],
  }),
  load_v: entry({ ...volt, label: 'Load voltage', span: [0, 60] }),
  load_i: entry({ ...ampere, label: 'Load current', span: [0, 30] }),
  load_w: entry({ ...watt, label: 'Load', span: [0, 500] }),
  undervolt_n: entry({ ...count, label: 'Under-voltage events since boot', span: [0, 1e9] }),
  uptime: entry({
    label: 'Time since boot',
    unit: 's',
    senml: 's',
    ucum: 's',
    udunits: 's',
    span: [0, 4e9],
    aggregate: 'last',
    decimals: 0,
  }),
  boot: entry({ ...count, label: 'Boot number', span: [0, 2_147_483_647] }),
  seq: entry({ ...count, label: 'Message number', span: [0, 2_147_483_647] }),
  boot_cause: entry({
    label: 'Cause of the last boot',
    unit: '',
    senml: undefined,
    ucum: undefined,
    udunits: undefined,
    span: [0, 3],
    aggregate: 'last',
    decimals: 0,
    codes: ['unknown', 'orderly', 'brown-out', 'watchdog'],
  }),
  clock_offset: entry({
    label: 'Clock offset',
    unit: 's',
    senml: 's',
    ucum: 's',
    udunits: 's',
    span: [-4e9, 4e9],
    aggregate: 'last',
    decimals: 1,
  }),
  clock_src: entry({
    label: 'Clock source',
    unit: '',
    senml: undefined,
    ucum: undefined,
    udunits: undefined,
    span: [0, 4],
    aggregate: 'last',
    decimals: 0,
    codes: ['none', 'network', 'satellite', 'battery clock', 'counted from uptime'],
  }),
  disk_free: entry({ ...bytes, label: 'Free storage', span: [0, 1e15] }),
  disk_err: entry({ ...count, label: 'Storage write errors', span: [0, 1e9] }),
  fs_ro: entry({ ...flag, label: 'Storage is read-only' }),
  cpu_temp: entry({ ...celsius, label: 'Board temperature', span: [-40, 110] }),
  box_temp: entry({ ...celsius, label: 'Box temperature', span: [-40, 85] }),
  box_rh: entry({
    label: 'Box humidity',
    unit: '%',
    senml: '%RH',
    ucum: '%',
    udunits: 'percent',
    span: [0, 100],
    aggregate: 'mean',
    decimals: 0,
  }),
  signal: entry({
    label: 'Received signal',
    unit: 'dBm',
    senml: 'dBm',
    ucum: undefined,
    udunits: undefined,
    span: [-150, -20],
    aggregate: 'mean',
    decimals: 0,
  }),
  tx_bytes: entry({ ...bytes, label: 'Sent this month', span: [0, 1e15] }),
  rx_bytes: entry({ ...bytes, label: 'Received this month', span: [0, 1e15] }),
  backlog: entry({ ...count, label: 'Readings not yet sent', span: [0, 1e12] }),
  box_open: entry({ ...flag, label: 'Box open' }),
  tilt_move: entry({ ...flag, label: 'Moved' }),
  interval: entry({
    label: 'Logging interval',
    unit: 's',
    senml: 's',
    ucum: 's',
    udunits: 's',
    span: [1, 86_400],
    aggregate: 'last',
    decimals: 0,
  }),
  // Derived: the server's own, or a node's own reckoning where it has one.
  harvest_day: entry({
    label: 'Harvest of the day',
    unit: 'Wh',
    senml: 'Wh',
    ucum: 'W.h',
    udunits: 'W h',
    span: [0, 20_000],
    aggregate: 'last',
    decimals: 1,
  }),
  load_day: entry({
    label: 'Load of the day',
    unit: 'Wh',
    senml: 'Wh',
    ucum: 'W.h',
    udunits: 'W h',
    span: [0, 20_000],
    aggregate: 'last',
    decimals: 1,
  }),
  yield_index: entry({
    label: 'Yield index',
    unit: '',
    senml: '/',
    ucum: '1',
    udunits: '1',
    span: [0, 1.5],
    aggregate: 'mean',
    decimals: 2,
  }),
  avail_up: entry({
    label: 'Share of time up',
    unit: '',
    senml: '/',
    ucum: '1',
    udunits: '1',
    span: [0, 1],
    aggregate: 'mean',
    decimals: 3,
  }),
  // SenML's EL counts seconds of battery left (RFC 8428, 12.1).
  days_to_empty: entry({
    label: 'Time to empty',
    unit: 's',
    senml: 'EL',
    ucum: 's',
    udunits: 's',
    span: [0, 31_622_400],
    aggregate: 'last',
    decimals: 0,
  }),

  // Environment. Spans: WMO/Zahumenský limits as cited by a university network, unless marked PC (our choice).
  air_temp: entry({
    ...celsius,
    label: 'Air temperature',
    cfName: 'air_temperature',
    span: [-50, 50],
  }),
  rel_hum: entry({
    label: 'Relative humidity',
    unit: '%',
    senml: '%RH',
    ucum: '%',
    udunits: 'percent',
    cfName: 'relative_humidity',
    span: [0, 103],
    aggregate: 'mean',
    decimals: 0,
  }),
  dew_point: entry({
    ...celsius,
    label: 'Dew point',
    cfName: 'dew_point_temperature',
    span: [-80, 35],
  }),
  air_press: entry({
    label: 'Air pressure',
    unit: 'hPa',
    senml: 'hPa',
    ucum: 'hPa',
    udunits: 'hPa',
    cfName: 'air_pressure',
    span: [500, 1100],
    aggregate: 'mean',
    decimals: 1,
  }),
  wind_speed: entry({
    label: 'Wind speed',
    unit: 'm/s',
    senml: 'm/s',
    ucum: 'm/s',
    udunits: 'm s-1',
    cfName: 'wind_speed',
    span: [0, 75],
    aggregate: 'mean',
    decimals: 1,
  }),
  wind_gust: entry({
    label: 'Wind gust',
    unit: 'm/s',
    senml: 'm/s',
    ucum: 'm/s',
    udunits: 'm s-1',
    cfName: 'wind_speed_of_gust',
    span: [0, 75],
    aggregate: 'mean',
    decimals: 1,
  }),
  wind_dir: entry({
    label: 'Wind from',
    unit: '°',
    senml: 'deg',
    ucum: 'deg',
    udunits: 'degree',
    cfName: 'wind_from_direction',
    span: [0, 360],
    aggregate: 'circular-mean',
    decimals: 0,
  }),
  rain: entry({
    label: 'Rain',
    unit: 'mm',
    senml: 'mm',
    ucum: 'mm',
    udunits: 'mm',
    cfName: 'rainfall_amount',
    span: [0, 50],
    aggregate: 'sum',
    decimals: 1,
  }),
  irradiance: entry({
    label: 'Sunlight on the flat',
    unit: 'W/m²',
    senml: 'W/m2',
    ucum: 'W/m2',
    udunits: 'W m-2',
    cfName: 'surface_downwelling_shortwave_flux_in_air',
    span: [-5, 1500],
    aggregate: 'mean',
    decimals: 0,
  }),
  soil_temp: entry({
    ...celsius,
    label: 'Soil temperature',
    cfName: 'soil_temperature',
    span: [-50, 70],
  }),
  water_temp: entry({ ...celsius, label: 'Water temperature', span: [-2, 45] }),
  water_level: entry({
    label: 'Water level',
    unit: 'm',
    senml: 'm',
    ucum: 'm',
    udunits: 'm',
    span: [-20, 50],
    aggregate: 'mean',
    decimals: 3,
  }),
  soil_moist: entry({
    label: 'Soil moisture',
    unit: '%',
    // Not `%`, which in SenML is a ratio from 0 to 1; `/100` is percent (RFC 8798, note 1).
    senml: '/100',
    ucum: '%',
    udunits: 'percent',
    cfName: 'volume_fraction_of_condensed_water_in_soil',
    span: [0, 100],
    aggregate: 'mean',
    decimals: 0,
  }),
  lux: entry({
    label: 'Light',
    unit: 'lx',
    senml: 'lx',
    ucum: 'lx',
    udunits: 'lux',
    span: [0, 150_000],
    aggregate: 'mean',
    decimals: 0,
  }),
  image_n: entry({ ...count, label: 'Images taken', span: [0, 1e9] }),
  trigger_n: entry({ ...count, label: 'Triggers', span: [0, 1e9] }),
} as const satisfies Record<string, MetricEntry>;

export type MetricKey = keyof typeof metricCatalogue;

export const metricKeys = Object.keys(metricCatalogue) as readonly MetricKey[];

/** The metric of that key, or undefined when the catalogue has none. */
export function metricOf(key: string): MetricKey | undefined {
  return Object.hasOwn(metricCatalogue, key) ? (key as MetricKey) : undefined;
}

export const metric = (key: MetricKey): MetricEntry => metricCatalogue[key];
