import { DAY_MS, metric, type MetricEntry, type MetricKey, type Sample } from '@duskline/domain';
import type { CardForm, CardSettings } from './card-form.ts';
import { exampleOf, happened, newTally, type CardTally, type PreviewRow } from './card-tally.ts';
import { inStoredUnit, unitScale, type UnitScale } from './card-units.ts';
import { createRowDating, type RowTime } from './date-rows.ts';
import { decimalsOf, isMissingWord, readNumber } from './read-number.ts';
import { splitLine } from './split-line.ts';
import { isComment } from './understand-card.ts';

/** Samples older than this come from a clock that was never set. */
const EARLIEST_MS = Date.UTC(2020, 0, 1);
/** Beyond this no sensor reads. */
const LARGEST_VALUE = 1e18;
const PREVIEW_ROWS = 8;
const SPREAD_ROWS = 256;
const STEPS_KEPT = 2000;

/** What loggers and sensor libraries write for "no value": trade practice, no source. Only outside what the metric can be. */
const missingCodes = new Set([
  0, -99, -99.9, -99.99, -127, -999, -999.9, -999.99, -6999, -7999, -8888, -9999, -9999.9, -32_768,
  -99_999, 99, 999, 999.9, 6999, 7999, 8888, 9999, 32_767, 65_535, 99_999,
]);

interface MetricCell {
  readonly place: number;
  readonly metric: MetricKey;
  readonly scale: UnitScale;
  readonly codes: readonly string[] | undefined;
  readonly span: readonly [number, number];
}

export interface CardPassOptions {
  readonly form: CardForm;
  readonly settings: CardSettings;
  readonly nowMs: number;
  /** What an earlier pass over the same file found (`settledFolds`). */
  readonly foldsSeen?: ReadonlySet<number>;
}

export interface CardPass {
  /** @returns the sample of the line, or undefined where it has none; the tally says why */
  take(line: string): Sample | undefined;
  readonly tally: CardTally;
}

/** Goes through one file, line by line, and counts what it sees. */
export function createCardPass(options: CardPassOptions): CardPass {
  const { form, settings, nowMs, foldsSeen = new Set<number>() } = options;
  const tally = newTally();
  const dating = createRowDating({ form, settings, foldsSeen }, tally);
  const cells = metricCells(form);
  const timeCell = timeCellOf(form);
  const realCodes = new Set(settings.realCodes ?? []);
  const latestMs = nowMs + DAY_MS;
  const leastCells =
    1 +
    Math.max(0, ...form.columns.map(({ use }, place) => (use.kind === 'leave-out' ? 0 : place)));
  const layouts = new Map<string, readonly MetricKey[]>();
  let spreadEvery = 1;
  let lastMs = -Infinity;

  function readCell(text: string, cell: MetricCell, line: string): number | undefined {
    const { codes, scale, span } = cell;
    if (codes !== undefined) {
      const code = codeOf(text, codes);
      if (code !== undefined) return code;
    }
    const number = readNumber(text, form.decimal);
    if (number === undefined || codes !== undefined) {
      if (isMissingWord(text)) tally.missingCells += 1;
      else happened(tally.badCells, tally.lines, `${cell.metric}: ${text} in ${line}`);
      return undefined;
    }
    const exact = inStoredUnit(number, scale);
    // 98.71 kPa are 987.1 hPa and not 987.0999999999999.
    const value =
      (scale.multiply === 1 && scale.add === 0) || !Number.isFinite(exact)
        ? exact
        : Number(exact.toPrecision(13));
    if ((value < span[0] || value > span[1]) && missingCodes.has(number)) {
      const name = `${cell.metric} ${number}`;
      const known = tally.codes.get(name);
      if (known === undefined)
        tally.codes.set(name, { metric: cell.metric, code: number, count: 1 });
      else known.count += 1;
      if (!realCodes.has(number)) return undefined;
    }
    if (!(Math.abs(value) <= LARGEST_VALUE)) {
      happened(tally.badCells, tally.lines, `${cell.metric}: ${text} in ${line}`);
      return undefined;
    }
    const decimals = decimalsOf(text);
    if (decimals > (tally.decimals.get(cell.metric) ?? -1))
      tally.decimals.set(cell.metric, decimals);
    return value;
  }

  function keep(
    time: RowTime,
    values: readonly (number | undefined)[],
    line: string,
  ): Sample | undefined {
    let mask = '';
    const present: number[] = [];
    for (const value of values) {
      mask += value === undefined ? '0' : '1';
      if (value !== undefined) present.push(value);
    }
    if (present.length === 0) return undefined;
    let metrics = layouts.get(mask);
    if (metrics === undefined) {
      metrics = cells
        .filter((_cell, index) => values[index] !== undefined)
        .map((cell) => cell.metric);
      layouts.set(mask, metrics);
    }
    note(time.atMs, metrics, present, line);
    return { observedAtMs: time.atMs, metrics, values: present, timeQuality: time.timeQuality };
  }

  function note(
    atMs: number,
    metrics: readonly MetricKey[],
    values: readonly number[],
    line: string,
  ): void {
    tally.rows += 1;
    tally.readings += values.length;
    if (atMs < tally.firstMs) tally.firstMs = atMs;
    if (atMs > tally.lastMs) tally.lastMs = atMs;
    if (atMs < lastMs) tally.backSteps += 1;
    else if (lastMs > 0 && tally.steps.length < STEPS_KEPT) tally.steps.push(atMs - lastMs);
    lastMs = atMs;
    dating.took(atMs);
    const wantsSpread = tally.rows % spreadEvery === 0;
    if (!wantsSpread && tally.preview.length >= PREVIEW_ROWS) return;
    const row: PreviewRow = {
      ...exampleOf(tally.lines, line),
      atMs,
      readings: metrics.map((key, index) => ({ metric: key, value: values[index] ?? 0 })),
    };
    if (tally.preview.length < PREVIEW_ROWS) tally.preview.push(row);
    if (!wantsSpread) return;
    tally.spread.push(row);
    if (tally.spread.length < SPREAD_ROWS) return;
    tally.spread = tally.spread.filter((_row, index) => index % 2 === 1);
    spreadEvery *= 2;
  }

  return {
    tally,
    take(raw) {
      tally.lines += 1;
      const line = tally.lines === 1 ? raw.replace(/^\ufeff/, '') : raw;
      if (tally.lines <= form.dataFrom || line.trim() === '') return undefined;
      if (line === form.headingLine || isComment(line)) return undefined;
      const row = splitLine(line, form.delimiter);
      const time =
        row.length < leastCells ? undefined : dating.date(timeCell(row), tally.lines, line);
      if (time === undefined) {
        happened(tally.unreadable, tally.lines, line);
        return undefined;
      }
      if (time.atMs < EARLIEST_MS || time.atMs > latestMs) {
        happened(time.atMs < EARLIEST_MS ? tally.tooOld : tally.future, tally.lines, line);
        return undefined;
      }
      return keep(
        time,
        cells.map((cell) => readCell(row[cell.place] ?? '', cell, line)),
        line,
      );
    },
  };
}

/** Sorted by metric, as a layout is. */
function metricCells(form: CardForm): readonly MetricCell[] {
  return form.columns
    .flatMap(({ use }, place): MetricCell[] => {
      if (use.kind !== 'metric') return [];
      const entry: MetricEntry = metric(use.metric);
      const scale = unitScale(use.metric, use.unit);
      if (scale === undefined) return [];
      return [{ place, metric: use.metric, scale, codes: entry.codes, span: entry.span }];
    })
    .sort((a, b) => (a.metric < b.metric ? -1 : 1));
}

/** The cell with the time, or date and time of day put together. */
function timeCellOf(form: CardForm): (row: readonly string[]) => string {
  const placeOf = (kind: string): number => form.columns.findIndex(({ use }) => use.kind === kind);
  const [time, date, clock] = [placeOf('time'), placeOf('date'), placeOf('clock')];
  if (time >= 0) return (row) => row[time] ?? '';
  if (date < 0) return () => '';
  return clock < 0
    ? (row) => `${row[date] ?? ''} 00:00`
    : (row) => `${row[date] ?? ''} ${row[clock] ?? ''}`;
}

const yes = new Set(['yes', 'true', 'on', 'y', 't', '1', 'open', 'ja']);
const no = new Set(['no', 'false', 'off', 'n', 'f', '0', 'closed', 'nein']);

/** A code by its word or its number; a flag by any of the usual words. */
function codeOf(text: string, codes: readonly string[]): number | undefined {
  const word = text.toLowerCase();
  const found = codes.indexOf(word);
  if (found >= 0) return found;
  if (codes.length === 2 && codes[0] === 'no') {
    if (yes.has(word)) return 1;
    if (no.has(word)) return 0;
  }
  const number = readNumber(text, '.');
  return number !== undefined && Number.isInteger(number) && number >= 0 && number < codes.length
    ? number
    : undefined;
}

/** The days whose repeated hour the file itself settled. */
export const settledFolds = (tally: CardTally): ReadonlySet<number> =>
  new Set([...tally.folds].filter(([, fold]) => fold.seen).map(([day]) => day));
