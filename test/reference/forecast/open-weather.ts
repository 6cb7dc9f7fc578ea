import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { HOUR_MS } from '@duskline/domain';

/** Hourly irradiance of one station, from the start of its first hour on. */
export interface OpenWeather {
  readonly station: string;
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
  readonly elevationM: number;
  readonly startMs: number;
  /** Level irradiance, mean of the hour, W/m². Gaps are filled with the same hour of the day before. */
  readonly ghiWm2: Float64Array;
  /** °C; 10 where the station gives none. */
  readonly airC: Float64Array;
}

/** Real records lie outside the project, under a licence of their own; README of the folder says whose they are. */
const FOLDER = fileURLToPath(new URL('../../../../shared/data/open/', import.meta.url));

/** Below anything measured. */
const MISSING = -1000;

/** Whether a station's file is at hand. */
export const hasStation = (file: string): boolean => existsSync(`${FOLDER}${file}`);

/**
 * Reads an hourly file: `# key: value` lines, one header row, `time_utc` the start of the hour, empty = missing.
 *
 * @throws Error when a column or a header line is missing
 */
export function readHourly(file: string): OpenWeather {
  const lines = readFileSync(`${FOLDER}${file}`, 'utf8').trim().split('\n');
  const notes = new Map(
    lines
      .filter((line) => line.startsWith('# '))
      .map((line) => {
        const colon = line.indexOf(':');
        return [line.slice(2, colon), line.slice(colon + 1).trim()] as const;
      }),
  );
  const rows = lines.filter((line) => !line.startsWith('#')).map((line) => line.split(','));
  const header = rows[0] ?? [];
  const column = (name: string): number => header.indexOf(name);
  if (column('time_utc') < 0 || column('ghi') < 0) throw new Error(`${file}: no time_utc or ghi.`);

  // Some files leave whole rows out, and one begins with two months of nothing: rows are placed by their time.
  const body = rows.slice(1);
  const first = body.findIndex((row) => row[column('ghi')] !== '');
  const startMs = Date.parse(body[first]![column('time_utc')]!);
  const endMs = Date.parse(body.at(-1)![column('time_utc')]!) + HOUR_MS;
  const ghiWm2 = new Float64Array((endMs - startMs) / HOUR_MS).fill(MISSING);
  const airC = new Float64Array(ghiWm2.length).fill(MISSING);
  for (const row of body.slice(first)) {
    const hour = (Date.parse(row[column('time_utc')]!) - startMs) / HOUR_MS;
    ghiWm2[hour] = valueOf(row[column('ghi')]);
    airC[hour] = valueOf(row[column('t_air')]);
  }
  fillFromDayBefore(ghiWm2, 0);
  fillFromDayBefore(airC, 10);
  const note = (key: string, otherwise?: number): number => {
    const value = Number(notes.get(key) ?? otherwise);
    if (!Number.isFinite(value)) throw new Error(`${file}: header says no ${key}.`);
    return value;
  };
  return {
    station: notes.get('station') ?? file,
    latitudeDeg: note('latitude'),
    longitudeDeg: note('longitude'),
    elevationM: note('elevation_m', 0),
    startMs,
    ghiWm2,
    airC,
  };
}

const valueOf = (cell: string | undefined): number =>
  cell === undefined || cell === '' ? MISSING : Number(cell);

function fillFromDayBefore(series: Float64Array, otherwise: number): void {
  for (let i = 0; i < series.length; i++)
    if (series[i] === MISSING) series[i] = series[i - 24] ?? otherwise;
}
