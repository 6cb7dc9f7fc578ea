import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { DAY_MS, HOUR_MS } from '@duskline/domain';
import {
  clearSky,
  extraterrestrialNormalWm2,
  solarDayStartMs,
  sunPosition,
} from '@duskline/energy';

/** Hourly irradiance of one station, from the start of its first hour on. */
export interface OpenWeather {
  readonly file: string;
  readonly station: string;
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
  readonly elevationM: number;
  readonly startMs: number;
  /** Level irradiance, mean of the hour, W/m². */
  readonly ghiWm2: Float64Array;
  /** 1 where the record has nothing and the same hour of the day before was taken. */
  readonly isFilled: Uint8Array;
  /** °C; 15 where the station gives none. */
  readonly airC: Float64Array;
}

/**
 * Real records lie outside the project, under licences of their own: a folder named by DUSKLINE_OPEN_DATA, or `shared/data/open`
 * beside the checkout. Its README says whose they are.
 */
export const openDataFolder = (): string =>
  process.env['DUSKLINE_OPEN_DATA'] ??
  fileURLToPath(new URL('../../../../shared/data/open/', import.meta.url));

/** Files of stations in a folder, by name; none when it is not there. */
export function stationFiles(folder: string): readonly string[] {
  if (!existsSync(folder)) return [];
  return readdirSync(folder)
    .filter((name) => name.endsWith('.csv'))
    .sort();
}

const UNKNOWN_AIR_C = 15;
const WH_PER_MEGAJOULE = 1e6 / 3600;
/** Below this a cloudless sky says nothing about cloud. */
const LEAST_CLEAR_WM2 = 20;
const CLEAREST = 1.3;

interface Table {
  readonly notes: ReadonlyMap<string, string>;
  readonly header: readonly string[];
  readonly rows: readonly (readonly string[])[];
}

/**
 * Reads a record: `# key: value` lines, one header row, empty = missing. Three shapes:
 * hourly means (`time_utc` = start of the hour, `ghi` W/m²), hourly instants (`time_utc` at some minute, `g_i` or `ghi`), and
 * daily sums (`date`, `srad` MJ/m², `t_max`, `t_min`), which are spread over the day as under a cloudless sky.
 *
 * @throws Error naming the file when a column or a header line is missing
 */
export function readOpenWeather(folder: string, file: string): OpenWeather {
  const table = readTable(readFileSync(`${folder}/${file}`, 'utf8'));
  const note = (key: string, otherwise?: number): number => {
    const value = Number(table.notes.get(key) ?? otherwise);
    if (!Number.isFinite(value)) throw new Error(`${file}: the header says no ${key}.`);
    return value;
  };
  const place = {
    file,
    station: table.notes.get('station') ?? file,
    latitudeDeg: note('latitude'),
    longitudeDeg: note('longitude'),
    elevationM: note('elevation_m', 0),
  };
  const has = (name: string): boolean => table.header.includes(name);
  if (has('date') && has('srad')) return { ...place, ...fromDays(table, place) };
  if (has('time_utc') && (has('ghi') || has('g_i')))
    return { ...place, ...fromHours(table, place) };
  throw new Error(`${file}: neither time_utc with ghi or g_i, nor date with srad.`);
}

type Place = Pick<OpenWeather, 'latitudeDeg' | 'longitudeDeg' | 'elevationM'>;
type Series = Pick<OpenWeather, 'startMs' | 'ghiWm2' | 'isFilled' | 'airC'>;

function readTable(text: string): Table {
  const lines = text.trim().split(/\r?\n/);
  const notes = new Map<string, string>();
  const body: string[][] = [];
  for (const line of lines)
    if (line.startsWith('#')) {
      const colon = line.indexOf(':');
      if (colon > 0) notes.set(line.slice(1, colon).trim(), line.slice(colon + 1).trim());
    } else body.push(line.split(',').map((cell) => cell.trim()));
  return { notes, header: body[0] ?? [], rows: body.slice(1) };
}

const valueOf = (cell: string | undefined): number =>
  cell === undefined || cell === '' ? Number.NaN : Number(cell);

/** Rows are placed by their time: some files leave whole rows out, and one begins with two months of nothing. */
function fromHours({ header, rows }: Table, place: Place): Series {
  const ghiColumn = Math.max(header.indexOf('ghi'), header.indexOf('g_i'));
  const timeColumn = header.indexOf('time_utc');
  const airColumn = header.indexOf('t_air');
  const heard = rows.filter((row) => !Number.isNaN(valueOf(row[ghiColumn])));
  const timeOf = (row: readonly string[]): number => Date.parse(row[timeColumn]!);
  const firstMs = timeOf(heard[0]!);
  const startMs = Math.floor(firstMs / HOUR_MS) * HOUR_MS;
  const offsetMs = firstMs - startMs;
  const hours = Math.floor((timeOf(heard.at(-1)!) - startMs) / HOUR_MS) + 1;
  const ghiWm2 = new Float64Array(hours).fill(Number.NaN);
  const airC = new Float64Array(hours).fill(Number.NaN);
  for (const row of heard) {
    const hour = Math.floor((timeOf(row) - startMs) / HOUR_MS);
    ghiWm2[hour] = valueOf(row[ghiColumn]);
    airC[hour] = valueOf(row[airColumn]);
  }
  const isFilled = fillFromDayBefore(ghiWm2, 0);
  fillFromDayBefore(airC, UNKNOWN_AIR_C);
  const means = offsetMs === 0 ? ghiWm2 : meansOfInstants(ghiWm2, { place, startMs, offsetMs });
  return { startMs, ghiWm2: means, isFilled, airC };
}

/** The cloud of the instant, held for its hour, under the cloudless sky of the whole hour. */
function meansOfInstants(
  instantsWm2: Float64Array,
  at: { readonly place: Place; readonly startMs: number; readonly offsetMs: number },
): Float64Array {
  let index = 0.5;
  return instantsWm2.map((ghi, hour) => {
    const hourMs = at.startMs + hour * HOUR_MS;
    const clearThen = cloudlessWm2(at.place, hourMs + at.offsetMs);
    if (clearThen > LEAST_CLEAR_WM2) index = Math.min(CLEAREST, ghi / clearThen);
    return index * cloudlessHourWm2(at.place, hourMs);
  });
}

function fromDays({ header, rows }: Table, place: Place): Series {
  const dateColumn = header.indexOf('date');
  const [sunColumn, maxColumn, minColumn] = ['srad', 't_max', 't_min'].map((name) =>
    header.indexOf(name),
  ) as [number, number, number];
  const heard = rows.filter((row) => !Number.isNaN(valueOf(row[sunColumn])));
  const dayOf = (row: readonly string[]): number =>
    Math.round(Date.parse(`${row[dateColumn]!}T00:00Z`) / DAY_MS);
  const firstDay = dayOf(heard[0]!);
  const days = dayOf(heard.at(-1)!) - firstDay + 1;
  const sun = new Float64Array(days).fill(Number.NaN);
  const meanC = new Float64Array(days).fill(Number.NaN);
  const swingC = new Float64Array(days).fill(Number.NaN);
  for (const row of heard) {
    const day = dayOf(row) - firstDay;
    sun[day] = valueOf(row[sunColumn]);
    meanC[day] = (valueOf(row[maxColumn]) + valueOf(row[minColumn])) / 2;
    swingC[day] = (valueOf(row[maxColumn]) - valueOf(row[minColumn])) / 2;
  }
  const dayFilled = new Uint8Array(days);
  for (let day = 0; day < days; day++)
    if (Number.isNaN(sun[day])) {
      dayFilled[day] = 1;
      sun[day] = sun[day - 1] ?? 0;
    }
  // A local day is taken for the solar day: midnight of mean solar time, to the whole hour.
  const noonMs = (firstDay + 0.5) * DAY_MS - (place.longitudeDeg / 15) * HOUR_MS;
  const midnightMs = solarDayStartMs(noonMs, place.longitudeDeg);
  const startMs = Math.round(midnightMs / HOUR_MS) * HOUR_MS;
  const ghiWm2 = new Float64Array(days * 24);
  const isFilled = new Uint8Array(days * 24);
  const airC = new Float64Array(days * 24);
  for (let day = 0; day < days; day++) {
    const clear = Array.from({ length: 24 }, (_, hour) =>
      cloudlessHourWm2(place, startMs + (day * 24 + hour) * HOUR_MS),
    );
    const clearWh = clear.reduce((sum, value) => sum + value, 0);
    const index = clearWh > 0 ? (sun[day]! * WH_PER_MEGAJOULE) / clearWh : 0;
    for (let hour = 0; hour < 24; hour++) {
      const i = day * 24 + hour;
      ghiWm2[i] = index * clear[hour]!;
      isFilled[i] = dayFilled[day]!;
      const swing = swingC[day]! * Math.cos((2 * Math.PI * (hour + 0.5 - 15)) / 24);
      const air = meanC[day]! + swing;
      airC[i] = Number.isNaN(air) ? (airC[i - 24] ?? UNKNOWN_AIR_C) : air;
    }
  }
  return { startMs, ghiWm2, isFilled, airC };
}

/** Mean over the hour, by ten instants: hours are cut where the sun rises. */
function cloudlessHourWm2(place: Place, hourMs: number): number {
  let sum = 0;
  for (let part = 0; part < 10; part++)
    sum += cloudlessWm2(place, hourMs + (part + 0.5) * (HOUR_MS / 10));
  return sum / 10;
}

function cloudlessWm2({ latitudeDeg, longitudeDeg, elevationM }: Place, atMs: number): number {
  const { zenithDeg } = sunPosition(atMs, latitudeDeg, longitudeDeg);
  if (zenithDeg >= 90) return 0;
  return clearSky({
    apparentZenithDeg: zenithDeg,
    elevationM,
    linkeTurbidity: 3,
    extraterrestrialWm2: extraterrestrialNormalWm2(atMs),
  }).ghiWm2;
}

function fillFromDayBefore(series: Float64Array, otherwise: number): Uint8Array {
  const filled = new Uint8Array(series.length);
  for (let i = 0; i < series.length; i++)
    if (Number.isNaN(series[i])) {
      filled[i] = 1;
      series[i] = series[i - 24] ?? otherwise;
    }
  return filled;
}
