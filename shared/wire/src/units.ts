/** A unit as so many of another: value · multiply ÷ divide + add. A fraction keeps 3,700 mV from becoming 3.7000000000000002 V. */
interface Scale {
  readonly unit: string;
  readonly multiply: number;
  readonly divide: number;
  readonly add: number;
}

/**
 * Units of RFC 8428 §12.1 and RFC 8798 §2 that stand for themselves. Names from the IANA registry "SenML Units" (RFC 8428's own
 * rows from memory).
 */
const primaryUnits =
  'm kg s A K cd mol Hz rad sr N Pa J W C V F Ohm S Wb T H lm lx Bq Gy Sv kat m2 m3 m/s m/s2 m3/s W/m2 cd/m2 bit bit/s lat lon pH dB dBW Bspl count / %RH %EL EL 1/s beat/min beats S/m B VA VAs var vars J/m kg/m3'.split(
    ' ',
  );

const scale = (unit: string, multiply: number, divide = 1, add = 0): Scale => ({
  unit,
  multiply,
  divide,
  add,
});

/** RFC 8798 §3, table 2: secondary units, in the primary unit they are made from. */
const secondaryUnits: Readonly<Record<string, Scale>> = {
  ms: scale('s', 1, 1000),
  min: scale('s', 60),
  h: scale('s', 3600),
  MHz: scale('Hz', 1_000_000),
  kW: scale('W', 1000),
  kVA: scale('VA', 1000),
  kvar: scale('var', 1000),
  Ah: scale('C', 3600),
  Wh: scale('J', 3600),
  kWh: scale('J', 3_600_000),
  varh: scale('vars', 3600),
  kvarh: scale('vars', 3_600_000),
  kVAh: scale('VAs', 3_600_000),
  'Wh/km': scale('J/m', 18, 5),
  KiB: scale('B', 1024),
  GB: scale('B', 1e9),
  'Mbit/s': scale('bit/s', 1_000_000),
  'B/s': scale('bit/s', 8),
  'MB/s': scale('bit/s', 8_000_000),
  mV: scale('V', 1, 1000),
  mA: scale('A', 1, 1000),
  dBm: scale('dBW', 1, 1, -30),
  'ug/m3': scale('kg/m3', 1, 1e9),
  'mm/h': scale('m/s', 1, 3_600_000),
  'm/h': scale('m/s', 1, 3600),
  ppm: scale('/', 1, 1e6),
  // Added to the IANA registry after RFC 8798 (from memory).
  ppb: scale('/', 1, 1e9),
  '/100': scale('/', 1, 100),
  '/1000': scale('/', 1, 1000),
  hPa: scale('Pa', 100),
  mm: scale('m', 1, 1000),
  cm: scale('m', 1, 100),
  km: scale('m', 1000),
  'km/h': scale('m/s', 5, 18),
};

/**
 * Units that the registries list as primary beside another one of the same quantity (marked with an asterisk there, but for
 * Celsius). `%` is one of them: in SenML it is a ratio, 0 to 1, not a percentage.
 */
const doubledUnits: Readonly<Record<string, Scale>> = {
  Cel: scale('K', 1, 1, 273.15),
  deg: scale('rad', Math.PI, 180),
  g: scale('kg', 1, 1000),
  l: scale('m3', 1, 1000),
  'l/s': scale('m3/s', 1, 1000),
  '1/min': scale('1/s', 1, 60),
  '%': scale('/', 1),
};

const scales: ReadonlyMap<string, Scale> = new Map([
  ...primaryUnits.map((unit) => [unit, scale(unit, 1)] as const),
  ...Object.entries(secondaryUnits),
  ...Object.entries(doubledUnits),
]);

/** Is this a unit of the SenML registries? */
export const isUnit = (unit: string): boolean => scales.has(unit);

/**
 * A value in another unit of the same quantity, by the scale and offset of RFC 8798.
 *
 * @param value finite, in `from`
 * @param from a SenML unit, primary or secondary
 * @param to the unit wanted
 * @returns the value in `to`; undefined when one of them is unknown or they measure different things
 */
export function convertUnit(value: number, from: string, to: string): number | undefined {
  const given = scales.get(from);
  const wanted = scales.get(to);
  if (given === undefined || wanted === undefined || given.unit !== wanted.unit) return undefined;
  if (from === to) return value;
  const multiply = given.multiply * wanted.divide;
  const divide = given.divide * wanted.multiply;
  const common = commonFactor(multiply, divide);
  const offset = ((given.add - wanted.add) * wanted.divide) / wanted.multiply;
  return (value * (multiply / common)) / (divide / common) + offset;
}

/** Other units in which a value of this unit may come, for the sentence that says how to mend a wrong one. */
export function unitsLike(unit: string): readonly string[] {
  const primary = scales.get(unit)?.unit;
  if (primary === undefined) return [];
  return [...scales]
    .filter(([name, { unit: of }]) => of === primary && name !== unit && name !== '%')
    .map(([name]) => name);
}

/** Greatest common divisor of whole numbers; 1 where one of them is not whole (π). */
function commonFactor(a: number, b: number): number {
  if (!Number.isSafeInteger(a) || !Number.isSafeInteger(b)) return 1;
  let [high, low] = [a, b];
  while (low !== 0) [high, low] = [low, high % low];
  return high;
}
