import type { OutsideFault } from '@duskline/api';
import { DAY_MS, failed, HOUR_MS, ok, type Result } from '@duskline/domain';
import type { OutsideForecast, OutsideMember } from '@duskline/forecast';

/**
 * Reads the small file of a weather forecast.
 *
 * First `# source: …` and `# issued: <RFC 3339>`; then a line of column names, `time_utc` first and any of `ghi_wm2`, `cloud`
 * (0–1), `air_c`; an ensemble puts `.1`, `.2` … behind them. Then one line for each hour or day, without a step left out; an
 * empty cell says nothing.
 */
export function parseOutsideFile(text: string): Result<OutsideForecast, OutsideFault> {
  const lines = text.split(/\r?\n/).map((line) => line.trim());
  const remark = (name: string): string | undefined =>
    lines
      .find(
        (line) => line.startsWith('#') && line.slice(1).trim().toLowerCase().startsWith(`${name}:`),
      )
      ?.split(':')
      .slice(1)
      .join(':')
      .trim();
  const source = remark('source') ?? '';
  if (source === '') return invalid('line 1', 'must say the source, as "# source: valley office"');
  const issuedAtMs = Date.parse(remark('issued') ?? '');
  if (!Number.isFinite(issuedAtMs))
    return invalid('line 2', 'must say when it was issued, as "# issued: 2026-11-25T06:00:00Z"');
  const rows = lines
    .map((line, i) => ({ line, number: i + 1 }))
    .filter(({ line }) => line !== '' && !line.startsWith('#'));
  const [head, ...body] = rows;
  const columns = head?.line.split(',').map((name) => name.trim().toLowerCase()) ?? [];
  if (columns[0] !== 'time_utc') return invalid('the first column', 'must be time_utc');
  const unknown = columns.slice(1).find((name) => columnOf(name) === undefined);
  if (unknown !== undefined)
    return invalid(
      `column ${unknown}`,
      'is none of ghi_wm2, cloud, air_c, nor one of them with .1, .2 …',
    );
  if (body.length < 2) return invalid('the table', 'must have two lines at least');
  return readRows(body, columns, { source, issuedAtMs });
}

interface Row {
  readonly line: string;
  readonly number: number;
}

function readRows(
  rows: readonly Row[],
  columns: readonly string[],
  head: { readonly source: string; readonly issuedAtMs: number },
): Result<OutsideForecast, OutsideFault> {
  const times: number[] = [];
  const values = columns.map((): (number | null)[] => []);
  for (const { line, number } of rows) {
    const cells = line.split(',').map((cell) => cell.trim());
    if (cells.length !== columns.length)
      return invalid(`line ${number}`, `has ${cells.length} cells, not ${columns.length}`);
    const atMs = timeOf(cells[0] ?? '');
    if (!Number.isFinite(atMs)) return invalid(`line ${number}`, 'begins with no time');
    times.push(atMs);
    for (let place = 1; place < columns.length; place++) {
      const value = valueOf(cells[place] ?? '', columns[place] ?? '');
      if (value === undefined)
        return invalid(
          `line ${number}`,
          `holds "${cells[place]}", which no ${columns[place]} can be`,
        );
      values[place]?.push(value);
    }
  }
  const [startMs = 0, second = 0] = times;
  const stepMs = second - startMs;
  if (stepMs !== HOUR_MS && stepMs !== DAY_MS)
    return invalid('its step', 'must be an hour or a day');
  const off = times.findIndex((atMs, i) => atMs !== startMs + i * stepMs);
  if (off >= 0)
    return invalid(`line ${rows[off]?.number ?? 0}`, 'does not follow the one before by one step');
  const members = membersOf(columns, values);
  const bare = members.some(
    ({ ghiWm2, cloudRatio }) => ghiWm2 === undefined && cloudRatio === undefined,
  );
  if (members.length === 0 || bare) return invalid('the table', 'must say irradiance or cloud');
  return ok({ ...head, startMs, stepMs, members });
}

const NAMES = { ghi_wm2: 'ghiWm2', cloud: 'cloudRatio', air_c: 'airC' } as const;
const RANGES = { ghiWm2: [0, 1500], cloudRatio: [0, 1], airC: [-80, 60] } as const;

function columnOf(name: string) {
  const found = /^(ghi_wm2|cloud|air_c)(?:\.(\d{1,2}))?$/.exec(name);
  return found === null
    ? undefined
    : { key: NAMES[found[1] as keyof typeof NAMES], member: Number(found[2] ?? 1) };
}

/** A date alone is its midnight; a time without zone is UTC, as its column says. */
function timeOf(cell: string): number {
  if (/^\d{4}-\d{2}-\d{2}$/.test(cell)) return Date.parse(`${cell}T00:00:00Z`);
  return Date.parse(/(Z|[+-]\d{2}:?\d{2})$/.test(cell) ? cell : `${cell.replace(' ', 'T')}Z`);
}

function valueOf(cell: string, column: string): number | null | undefined {
  if (cell === '') return null;
  const key = columnOf(column)?.key;
  const value = Number(cell);
  if (key === undefined || !Number.isFinite(value)) return undefined;
  const [low, high] = RANGES[key];
  return value >= low && value <= high ? value : undefined;
}

function membersOf(
  columns: readonly string[],
  values: readonly (readonly (number | null)[])[],
): readonly OutsideMember[] {
  const members = new Map<
    number,
    Partial<Record<keyof OutsideMember, readonly (number | null)[]>>
  >();
  columns.forEach((name, place) => {
    const column = columnOf(name);
    if (column === undefined) return;
    members.set(column.member, {
      ...members.get(column.member),
      [column.key]: values[place] ?? [],
    });
  });
  return [...members].sort(([a], [b]) => a - b).map(([, member]) => member);
}

const invalid = (pointer: string, detail: string): Result<never, OutsideFault> =>
  failed({ kind: 'invalid', pointer, detail });
