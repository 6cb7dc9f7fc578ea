import { metric, type MetricKey } from '@duskline/domain';

/** A unit in the stored one: (value + add) · multiply ÷ divide. A fraction keeps 3,700 mV from becoming 3.7000000000000002 V. */
export interface UnitScale {
  readonly add: number;
  readonly multiply: number;
  readonly divide: number;
}

const scale = (multiply: number, divide = 1, add = 0): UnitScale => ({ add, multiply, divide });
const one = scale(1);

/** By the stored unit: the ways it is written on cards. The first is its plain name. Factors: SI Brochure and NIST SP 811 (from memory). */
const known: Readonly<Record<string, Readonly<Record<string, UnitScale>>>> = {
  V: { V: one, mV: scale(1, 1000), kV: scale(1000) },
  A: { A: one, mA: scale(1, 1000), uA: scale(1, 1e6) },
  W: { W: one, mW: scale(1, 1000), kW: scale(1000) },
  Cel: { '°C': one, K: scale(1, 1, -273.15), '°F': scale(5, 9, -32) },
  '%EL': { '%': one, 'ratio 0–1': scale(100) },
  '%RH': { '%': one, 'ratio 0–1': scale(100) },
  '/100': { '%': one, 'ratio 0–1': scale(100) },
  '/': { 'ratio 0–1': one, '%': scale(1, 100) },
  hPa: {
    hPa: one,
    Pa: scale(1, 100),
    kPa: scale(10),
    bar: scale(1000),
    mmHg: scale(101_325, 76_000),
    inHg: scale(3_386_389, 100_000),
  },
  'm/s': {
    'm/s': one,
    'km/h': scale(5, 18),
    kn: scale(1852, 3600),
    mph: scale(1_609_344, 3_600_000),
  },
  mm: { mm: one, cm: scale(10), in: scale(254, 10) },
  m: { m: one, cm: scale(1, 100), mm: scale(1, 1000), ft: scale(3048, 10_000) },
  'W/m2': { 'W/m²': one, 'kW/m²': scale(1000) },
  lx: { lx: one, klx: scale(1000) },
  s: { s: one, ms: scale(1, 1000), min: scale(60), h: scale(3600), d: scale(86_400) },
  EL: { s: one, h: scale(3600), d: scale(86_400) },
  B: {
    B: one,
    kB: scale(1000),
    KiB: scale(1024),
    MB: scale(1e6),
    MiB: scale(1_048_576),
    GB: scale(1e9),
    GiB: scale(1_073_741_824),
  },
  Wh: { Wh: one, mWh: scale(1, 1000), kWh: scale(1000), J: scale(1, 3600) },
  Ah: { Ah: one, mAh: scale(1, 1000) },
  Ohm: { Ω: one, mΩ: scale(1, 1000) },
  deg: { '°': one, rad: scale(180, Math.PI) },
  dBm: { dBm: one },
};

const plain: Readonly<Record<string, UnitScale>> = { '': one };

const tableOf = (key: MetricKey): Readonly<Record<string, UnitScale>> => {
  const { senml } = metric(key);
  return senml === undefined ? plain : (known[senml] ?? plain);
};

/** The units in which a metric may stand on a card, the stored one first. `''`: none, for counts and codes. */
export const cardUnits = (key: MetricKey): readonly string[] => Object.keys(tableOf(key));

/** @returns undefined where the metric does not come in that unit */
export function unitScale(key: MetricKey, unit: string): UnitScale | undefined {
  const table = tableOf(key);
  return Object.hasOwn(table, unit) ? table[unit] : undefined;
}

export const inStoredUnit = (value: number, { add, multiply, divide }: UnitScale): number =>
  ((value + add) * multiply) / divide;

/** Other ways of writing a unit, in lower case, without blanks. */
const spellings: Readonly<Record<string, string>> = {
  volt: 'V',
  volts: 'V',
  millivolt: 'mV',
  millivolts: 'mV',
  amp: 'A',
  amps: 'A',
  ampere: 'A',
  milliamp: 'mA',
  milliamps: 'mA',
  µa: 'uA',
  μa: 'uA',
  watt: 'W',
  watts: 'W',
  c: '°C',
  degc: '°C',
  deg_c: '°C',
  'deg.c': '°C',
  cel: '°C',
  celsius: '°C',
  '\ufffdc': '°C',
  ºc: '°C',
  '℃': '°C',
  f: '°F',
  degf: '°F',
  fahrenheit: '°F',
  '\ufffdf': '°F',
  kelvin: 'K',
  percent: '%',
  pct: '%',
  perc: '%',
  '%rh': '%',
  '%el': '%',
  '%soc': '%',
  ratio: 'ratio 0–1',
  '0-1': 'ratio 0–1',
  mbar: 'hPa',
  mb: 'hPa',
  ms: 'ms',
  'm/s': 'm/s',
  mps: 'm/s',
  'm.s-1': 'm/s',
  'ms-1': 'm/s',
  kmh: 'km/h',
  kph: 'km/h',
  'km/h': 'km/h',
  kt: 'kn',
  kts: 'kn',
  knots: 'kn',
  inch: 'in',
  inches: 'in',
  'w/m2': 'W/m²',
  'w/m^2': 'W/m²',
  'wm-2': 'W/m²',
  'w/m\ufffd': 'W/m²',
  lux: 'lx',
  sec: 's',
  secs: 's',
  seconds: 's',
  minutes: 'min',
  hours: 'h',
  days: 'd',
  bytes: 'B',
  byte: 'B',
  ohm: 'Ω',
  ohms: 'Ω',
  ω: 'Ω',
  mohm: 'mΩ',
  mω: 'mΩ',
  deg: '°',
  degree: '°',
  degrees: '°',
  '\ufffd': '°',
};

const exact = new Set(Object.values(known).flatMap((table) => Object.keys(table)));
/** In lower case, where that leaves no doubt: `mw` is no megawatt on a node, and `MV` no megavolt. */
const folded = new Map([...exact].map((unit) => [unit.toLowerCase(), unit]));

/** The unit that was meant, as this file writes it; undefined where it is none. */
export function readUnit(text: string): string | undefined {
  const bare = text.trim().replaceAll(' ', '');
  if (bare === '') return undefined;
  if (exact.has(bare)) return bare;
  const lower = bare.toLowerCase();
  return Object.hasOwn(spellings, lower) ? spellings[lower] : folded.get(lower);
}
