import { failed, HOUR_MS, type HourlyHistory, ok, type Result } from '@duskline/domain';

/** Columns a plain log may have beside its time. */
export const logColumns = [
  'charge_pct',
  'battery_v',
  'battery_a',
  'panel_w',
  'load_w',
  't_air',
] as const;
export type LogColumn = (typeof logColumns)[number];

/** A plain log, by row and by hour. */
export interface NodeLog {
  /** Unix ms, ascending; one row an instant (of doubles the last counts). */
  readonly timesMs: Float64Array;
  /** By row; NaN = empty. Columns the file does not have are left out. */
  readonly columns: ReadonlyMap<LogColumn, Float64Array>;
  /** Means of the whole hours; gaps are null. */
  readonly hourly: HourlyHistory;
}

/** What is wrong with a file, for the person who made it. */
export interface LogFault {
  readonly where: string;
  readonly problem: string;
}

const MOST_HOURS = 24 * 366 * 60;

/**
 * Reads a plain log: a line of column names with `time_utc` and any of `charge_pct`, `battery_v`, `battery_a` (positive =
 * charging), `panel_w`, `load_w`, `t_air`; then a line a reading, of any cadence and in any order. Empty cells and missing hours
 * are gaps; lines that start with # and other columns are passed over.
 *
 * @returns the log, or the first thing wrong with it
 */
export function parseNodeLog(text: string): Result<NodeLog, LogFault> {
  const lines = text.split(/\r?\n/);
  const headAt = lines.findIndex((line) => line.trim() !== '' && !line.startsWith('#'));
  const header = (lines[headAt] ?? '')
    .replace(/^\uFEFF/, '')
    .split(',')
    .map((name) => name.trim());
  const timeAt = header.indexOf('time_utc');
  if (timeAt < 0)
    return failed({ where: `line ${headAt + 1}`, problem: 'there is no column time_utc' });
  const present = logColumns.filter((name) => header.includes(name));
  if (present.length === 0)
    return failed({
      where: `line ${headAt + 1}`,
      problem: `there is none of the columns ${logColumns.join(', ')}`,
    });

  const places = present.map((name) => header.indexOf(name));
  const rows: { readonly atMs: number; readonly values: readonly number[] }[] = [];
  for (let i = headAt + 1; i < lines.length; i++) {
    const line = lines[i]!;
    if (line.trim() === '' || line.startsWith('#')) continue;
    const cells = line.split(',');
    const atMs = timeOf(cells[timeAt]?.trim() ?? '');
    if (Number.isNaN(atMs))
      return failed({
        where: `line ${i + 1}`,
        problem: `“${cells[timeAt] ?? ''}” is no time such as 2026-01-05T00:00Z`,
      });
    const values = places.map((place) => {
      const cell = cells[place]?.trim() ?? '';
      return cell === '' ? Number.NaN : Number(cell);
    });
    const bad = places.findIndex(
      (place, k) => Number.isNaN(values[k]) && (cells[place]?.trim() ?? '') !== '',
    );
    if (bad >= 0)
      return failed({
        where: `line ${i + 1}, ${present[bad]}`,
        problem: `“${cells[places[bad]!]!.trim()}” is no number`,
      });
    rows.push({ atMs, values });
  }
  if (rows.length === 0) return failed({ where: 'the file', problem: 'there is no reading in it' });
  rows.sort((a, b) => a.atMs - b.atMs);
  const single = rows.filter((row, i) => rows[i + 1]?.atMs !== row.atMs);
  const timesMs = Float64Array.from(single, ({ atMs }) => atMs);
  if (timesMs.at(-1)! - timesMs[0]! > MOST_HOURS * HOUR_MS)
    return failed({ where: 'column time_utc', problem: 'the readings span more than sixty years' });
  const columns = new Map(
    present.map((name, k) => [name, Float64Array.from(single, ({ values }) => values[k]!)]),
  );
  return ok({ timesMs, columns, hourly: hourlyOf(timesMs, columns) });
}

/** Times without a zone are UTC, as the column says. */
function timeOf(cell: string): number {
  if (!/^\d{4}-\d{2}-\d{2}([T ]|$)/.test(cell)) return Number.NaN;
  const zoned = /(Z|[+-]\d{2}:?\d{2})$/i.test(cell) || cell.length === 10 ? cell : `${cell}Z`;
  return Date.parse(zoned.replace(' ', 'T'));
}

function hourlyOf(
  timesMs: Float64Array,
  columns: ReadonlyMap<LogColumn, Float64Array>,
): HourlyHistory {
  const startMs = Math.floor(timesMs[0]! / HOUR_MS) * HOUR_MS;
  const hours = Math.floor((timesMs.at(-1)! - startMs) / HOUR_MS) + 1;
  const meansOf = (name: LogColumn, scale = 1): (number | null)[] => {
    const sums = new Float64Array(hours);
    const counts = new Uint32Array(hours);
    columns.get(name)?.forEach((value, row) => {
      if (Number.isNaN(value)) return;
      const hour = Math.floor((timesMs[row]! - startMs) / HOUR_MS);
      sums[hour] = sums[hour]! + value;
      counts[hour] = counts[hour]! + 1;
    });
    return Array.from(sums, (sum, i) => (counts[i] === 0 ? null : (sum / counts[i]!) * scale));
  };
  return {
    startMs,
    panelW: meansOf('panel_w'),
    loadW: meansOf('load_w'),
    chargeRatio: meansOf('charge_pct', 0.01).map((ratio) =>
      ratio === null ? null : Math.min(1, Math.max(0, ratio)),
    ),
    batteryV: meansOf('battery_v'),
    batteryA: meansOf('battery_a'),
    batteryC: new Array<null>(hours).fill(null),
    airC: meansOf('t_air'),
  };
}
