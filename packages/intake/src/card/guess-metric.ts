import { metric, metricKeys, metricOf, type MetricKey } from '@duskline/domain';
import { cardUnits, readUnit, unitScale } from './card-units.ts';

/** What a heading was understood to mean. */
export interface MetricGuess {
  readonly metric: MetricKey;
  /** Undefined: the heading names none. */
  readonly unit?: string;
  /** The words left it open; said as a doubt. */
  readonly unsure?: true;
}

/** A heading as its words in lower case, and the unit that stands in it. */
export interface HeadingWords {
  readonly words: readonly string[];
  readonly unit?: string;
}

/** `Batt_V [mV]`, `battery (mV)`, `airTemp/°C`, `battery, V`. */
export function readHeading(heading: string): HeadingWords {
  const text = heading.trim().replace(/^["'#\s]+|["'\s]+$/g, '');
  const found =
    /^(.*?)\s*(?:[[({]([^\])}]{1,16})[\])}]|(?: in |\/|, ?)([^\s/,]{1,8}(?:\/[^\s/,]{1,3})?))$/i.exec(
      text,
    );
  const unit = readUnit(found?.[2] ?? found?.[3] ?? '');
  const name = unit === undefined ? text : (found?.[1] ?? text);
  const words = wordsOf(name);
  if (unit !== undefined) return { words, unit };
  const last = words.at(-1) ?? '';
  const tail = words.length > 1 && (last.length > 1 || last === '%') ? readUnit(last) : undefined;
  const percent = /%\s*$/.test(name) ? '%' : undefined;
  if (tail !== undefined && !quantityWords.has(last))
    return { words: words.slice(0, -1), unit: tail };
  return percent === undefined ? { words } : { words, unit: percent };
}

const wordsOf = (name: string): string[] =>
  name
    .normalize('NFKC')
    .replaceAll('SoC', 'soc')
    .replace(/([a-zäöü])([A-Z])/g, '$1 $2')
    .toLowerCase()
    .split(/[^a-z0-9äöüµ²°%]+/)
    .filter((word) => word !== '')
    .flatMap((word) => (Object.hasOwn(joined, word) ? (joined[word] ?? []) : [word]));

/** Words that loggers write together. */
const joined: Readonly<Record<string, readonly string[]>> = {
  vbat: ['batt', 'v'],
  vbatt: ['batt', 'v'],
  ubat: ['batt', 'v'],
  ubatt: ['batt', 'v'],
  battv: ['batt', 'v'],
  batv: ['batt', 'v'],
  ibat: ['batt', 'i'],
  ibatt: ['batt', 'i'],
  tbat: ['batt', 'temp'],
  vpv: ['panel', 'v'],
  ipv: ['panel', 'i'],
  ppv: ['panel', 'w'],
  vpanel: ['panel', 'v'],
  ipanel: ['panel', 'i'],
  vsolar: ['panel', 'v'],
  isolar: ['panel', 'i'],
  vload: ['load', 'v'],
  iload: ['load', 'i'],
  pload: ['load', 'w'],
  airtemp: ['air', 'temp'],
  tair: ['air', 'temp'],
  tempc: ['temp'],
  windspeed: ['wind', 'speed'],
  winddir: ['wind', 'dir'],
  windgust: ['wind', 'gust'],
  batterie: ['batt'],
  batteriespannung: ['batt', 'v'],
  lufttemperatur: ['air', 'temp'],
  lufttemp: ['air', 'temp'],
  luftfeuchte: ['air', 'rh'],
  luftdruck: ['pressure'],
  niederschlag: ['rain'],
  windgeschwindigkeit: ['wind', 'speed'],
  windrichtung: ['wind', 'dir'],
};

type Part = 'batt' | 'panel' | 'load' | 'cpu' | 'box' | 'air' | 'soil' | 'water' | 'wind';
type Quantity =
  | 'v'
  | 'i'
  | 'w'
  | 'temp'
  | 'rh'
  | 'charge'
  | 'level'
  | 'moist'
  | 'speed'
  | 'gust'
  | 'dir'
  | 'pressure'
  | 'resist';

const wordTable = <T extends string>(rows: Readonly<Record<T, string>>): ReadonlyMap<string, T> =>
  new Map(
    (Object.entries(rows) as [T, string][]).flatMap(([meaning, words]) =>
      words.split(' ').map((word): [string, T] => [word, meaning]),
    ),
  );

const partWords = wordTable<Part>({
  batt: 'batt battery bat accu akku accumulator cell',
  panel: 'panel pv solar module array',
  load: 'load consumption consumer output verbraucher',
  cpu: 'cpu board processor chip core mcu',
  box: 'box case enclosure housing logger internal inside cabinet',
  air: 'air outside outdoor ambient external luft',
  soil: 'soil ground boden',
  water: 'water river stream stage wasser',
  wind: 'wind',
});
const quantityWords = wordTable<Quantity>({
  v: 'v volt volts voltage u spannung',
  i: 'i a amp amps ampere current strom',
  w: 'w watt watts power leistung',
  temp: 'temp temperature t temperatur',
  rh: 'rh humidity hum humid feuchte',
  charge: 'charge soc',
  level: 'level height depth stage pegel',
  moist: 'moist moisture vwc',
  speed: 'speed velocity',
  gust: 'gust gusts max',
  dir: 'dir direction bearing from',
  pressure: 'pressure press baro barometer',
  resist: 'resist resistance',
});

const byPart: Readonly<Record<Part, Partial<Record<Quantity, MetricKey>>>> = {
  batt: {
    v: 'batt_v',
    i: 'batt_i',
    temp: 'batt_temp',
    charge: 'charge',
    level: 'charge',
    resist: 'batt_resist',
  },
  panel: { v: 'panel_v', i: 'panel_i', w: 'panel_w' },
  load: { v: 'load_v', i: 'load_i', w: 'load_w' },
  cpu: { temp: 'cpu_temp' },
  box: { temp: 'box_temp', rh: 'box_rh' },
  air: { temp: 'air_temp', rh: 'rel_hum', pressure: 'air_press' },
  soil: { temp: 'soil_temp', moist: 'soil_moist', rh: 'soil_moist' },
  water: { temp: 'water_temp', level: 'water_level' },
  wind: { speed: 'wind_speed', gust: 'wind_gust', dir: 'wind_dir' },
};

/** Without a part: what is meant as a rule, and whether that had better be said. */
const alone: Partial<Record<Quantity, { readonly metric: MetricKey; readonly unsure?: true }>> = {
  v: { metric: 'batt_v', unsure: true },
  temp: { metric: 'air_temp', unsure: true },
  rh: { metric: 'rel_hum' },
  charge: { metric: 'charge' },
  pressure: { metric: 'air_press' },
  moist: { metric: 'soil_moist' },
  level: { metric: 'water_level', unsure: true },
  gust: { metric: 'wind_gust' },
};

/** One word that says it all. */
const plainWords = wordTable({
  rain: 'rain rainfall precip precipitation regen',
  irradiance: 'irradiance insolation radiation pyranometer globalstrahlung',
  lux: 'lux light illuminance lx',
  signal: 'signal rssi rsrp',
  uptime: 'uptime',
  boot: 'boot boots bootcount',
  seq: 'seq sequence record recno',
  backlog: 'backlog queued',
  undervolt_n: 'undervoltage undervolt',
  image_n: 'images photos pictures',
  trigger_n: 'triggers trigger',
  interval: 'interval',
} satisfies Partial<Record<MetricKey, string>>);

const quantityOfUnit: Readonly<Record<string, Quantity>> = {
  V: 'v',
  mV: 'v',
  A: 'i',
  mA: 'i',
  uA: 'i',
  W: 'w',
  mW: 'w',
  '°C': 'temp',
  '°F': 'temp',
  hPa: 'pressure',
  Ω: 'resist',
  mΩ: 'resist',
};

/**
 * The metric a heading names: its key or label, else its words (a part and a quantity), helped by its unit.
 *
 * @returns undefined where nothing in the catalogue fits
 */
export function guessMetric(heading: string): MetricGuess | undefined {
  const { words, unit } = readHeading(heading);
  const key = metricOf(wordsOf(heading).join('_')) ?? metricOf(words.join('_')) ?? byLabel(words);
  const found = key === undefined ? byWords(words, unit) : { metric: key };
  if (found === undefined) return undefined;
  return unit !== undefined && unitScale(found.metric, unit) !== undefined
    ? { ...found, unit }
    : found;
}

const labels = new Map(metricKeys.map((key) => [wordsOf(metric(key).label).join(' '), key]));
const byLabel = (words: readonly string[]): MetricKey | undefined => labels.get(words.join(' '));

function byWords(
  words: readonly string[],
  unit: string | undefined,
): Pick<MetricGuess, 'metric' | 'unsure'> | undefined {
  const part = first(words, partWords);
  const said = words.filter((word) => !partWords.has(word) || word === 'stage');
  const quantity =
    (said.includes('gust') ? 'gust' : first(said, quantityWords)) ??
    (unit === undefined ? undefined : quantityOfUnit[unit]) ??
    (part === 'batt' && unit === '%' ? 'charge' : undefined);
  const plain = first(words, plainWords);
  if (plain !== undefined && (part === undefined || plain === 'irradiance'))
    return { metric: plain };
  if (part === 'wind' && quantity === undefined) return { metric: 'wind_speed' };
  if (part === 'panel' && unit === 'W/m²') return { metric: 'irradiance' };
  if (part !== undefined && quantity !== undefined) {
    const found = byPart[part][quantity];
    return found === undefined ? undefined : { metric: found };
  }
  if (quantity !== undefined) return alone[quantity];
  return part === 'batt' && words.length === 1
    ? { metric: unit === '%' ? 'charge' : 'batt_v', unsure: true }
    : undefined;
}

function first<T>(words: readonly string[], table: ReadonlyMap<string, T>): T | undefined {
  for (const word of words) {
    const found = table.get(word);
    if (found !== undefined) return found;
  }
  return undefined;
}

/**
 * The unit that numbers without one stand in: the stored one where they lie within what the metric can be, else the first in
 * which they do.
 *
 * @param middle the median of some of the numbers
 */
export function guessUnit(key: MetricKey, middle: number | undefined): string {
  const units = cardUnits(key);
  const [low, high] = metric(key).span;
  const fits = (unit: string): boolean => {
    const scale = unitScale(key, unit);
    if (scale === undefined || middle === undefined) return true;
    const value = ((middle + scale.add) * scale.multiply) / scale.divide;
    return value >= low && value <= high;
  };
  return units.find(fits) ?? units[0] ?? '';
}
