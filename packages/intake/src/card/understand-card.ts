import { metric, type MetricEntry, type MetricKey } from '@duskline/domain';
import type { CardColumn, CardForm, CardSettings, ColumnUse, Delimiter } from './card-form.ts';
import { guessDecimal, guessDelimiter, mostCommon } from './guess-delimiter.ts';
import { guessMetric, guessUnit, readHeading } from './guess-metric.ts';
import { isMissingWord, readNumber } from './read-number.ts';
import { isClockCell, isDateCell, readTime } from './read-time.ts';
import { splitLine } from './split-line.ts';
import { isZone } from './zone-clock.ts';

export interface CardContext {
  /** The zone of the site: used where nothing else says one. */
  readonly siteZone: string;
}

/** Lines looked at to see how a file is written. */
export const LINES_LOOKED_AT = 400;

export const isComment = (line: string): boolean => /^\s*(?:#|\/\/|!|%|REM\b)/.test(line);

/**
 * How a file is written, from its first lines and what somebody said about it.
 *
 * @param lines the first lines of the file, some hundreds if it has them
 */
export function understandCard(
  lines: readonly string[],
  settings: CardSettings,
  { siteZone }: CardContext,
): CardForm {
  const looked = lines.slice(0, LINES_LOOKED_AT).map(withoutMark);
  const written = looked.filter((line) => line.trim() !== '' && !isComment(line));
  // Titles above the data have their own shape: the later lines tell how the data is cut.
  const delimiter =
    settings.delimiter ?? guessDelimiter(written.slice(-Math.max(10, written.length - 12)));
  const rows = written.map((line) => splitLine(line, delimiter));
  const width = mostCommon(rows.map((row) => row.length));
  const isData = (row: readonly string[]): boolean =>
    row.length >= Math.max(2, width - 1) && row.some(isValueCell);
  const firstData = rows.findIndex(isData);
  const data = firstData < 0 ? [] : rows.slice(firstData).filter((row) => row.length === width);
  const decimal = settings.decimal ?? guessDecimal(data, delimiter).decimal;

  const firstLine = written[firstData];
  const dataFrom = firstLine === undefined ? looked.length : looked.indexOf(firstLine);
  const above = looked.slice(0, dataFrom).filter((line) => line.trim() !== '');
  const headed = findHeadings(above, delimiter, width);
  const headings = Array.from({ length: width }, (_none, index) => {
    const name = headed?.names[index]?.trim() ?? '';
    return name === '' ? `column ${index + 1}` : name;
  });
  const columns = understandColumns(headings, data, { decimal, settings });
  return {
    delimiter,
    decimal,
    dataFrom,
    columns,
    dateOrder: settings.dateOrder ?? 'day-first',
    ...zoneOf(settings, { above, columns, siteZone }),
    ...(headed === undefined ? {} : { headingLine: headed.line }),
  };
}

const withoutMark = (line: string): string => line.replace(/^\ufeff/, '');

const isValueCell = (cell: string): boolean =>
  readNumber(cell, '.') !== undefined ||
  readNumber(cell, ',') !== undefined ||
  readTime(cell, 'day-first') !== undefined ||
  readTime(cell, 'month-first') !== undefined ||
  isDateCell(cell);

/** The line of headings above the data, also when it is written as a comment; a line of units under it is joined to it. */
function findHeadings(
  above: readonly string[],
  delimiter: Delimiter,
  width: number,
): { readonly names: readonly string[]; readonly line: string } | undefined {
  const rows = above
    .map((line) => ({
      line,
      cells: splitLine(line.replace(/^\s*(?:#|\/\/|!|%)+\s*/, ''), delimiter),
    }))
    .filter(
      ({ cells }) =>
        cells.length >= Math.max(2, width - 1) &&
        cells.length <= width + 1 &&
        !cells.some(isValueCell),
    );
  const last = rows.at(-1);
  const before = rows.at(-2);
  if (last === undefined) return undefined;
  const isUnits =
    before !== undefined &&
    last.cells.every((cell) => cell === '' || cell.length <= 12) &&
    last.cells.filter(
      (cell) => readHeading(`x [${cell.replace(/[[\]()]/g, '')}]`).unit !== undefined,
    ).length >= 1 &&
    last.cells.every((cell) => guessMetric(cell) === undefined || cell.length <= 4);
  if (!isUnits) return { names: last.cells, line: last.line };
  const names = before.cells.map((name, index) => {
    const unit = (last.cells[index] ?? '').replace(/[[\]()]/g, '').trim();
    return unit === '' ? name : `${name} [${unit}]`;
  });
  return { names, line: before.line };
}

type Content = 'time' | 'date' | 'clock' | 'number' | 'word' | 'empty';

function contentOf(cells: readonly string[]): Content {
  const filled = cells.filter((cell) => !isMissingWord(cell));
  if (filled.length === 0) return 'empty';
  const share = (test: (cell: string) => boolean): boolean =>
    filled.filter(test).length >= filled.length * 0.8;
  if (share((cell) => isTime(cell) && !/^\d{9,17}(?:[.,]\d+)?$/.test(cell))) return 'time';
  if (share(isDateCell)) return 'date';
  if (share(isClockCell)) return 'clock';
  return share((cell) => readNumber(cell, '.') !== undefined || readNumber(cell, ',') !== undefined)
    ? 'number'
    : 'word';
}

const isTime = (cell: string): boolean =>
  readTime(cell, 'day-first') !== undefined || readTime(cell, 'month-first') !== undefined;

const TIME_WORDS = new Set(
  'time timestamp datetime date utc epoch unix ts t when zeit zeitstempel datum recorded observed'.split(
    ' ',
  ),
);

function understandColumns(
  headings: readonly string[],
  data: readonly (readonly string[])[],
  { decimal, settings }: { readonly decimal: '.' | ','; readonly settings: CardSettings },
): CardColumn[] {
  const cellsOf = (index: number): readonly string[] => data.map((row) => row[index] ?? '');
  const contents = headings.map((_heading, index) => contentOf(cellsOf(index)));
  const chosen = (heading: string): ColumnUse | undefined =>
    settings.columns?.find((column) => column.heading === heading)?.use;
  const somebodyChoseTime = headings.some((heading) =>
    ['time', 'date'].includes(chosen(heading)?.kind ?? ''),
  );
  const timePlace = somebodyChoseTime ? undefined : placeOfTime(headings, contents, cellsOf);
  const taken = new Set<MetricKey>();
  for (const heading of headings) {
    const use = chosen(heading);
    if (use?.kind === 'metric') taken.add(use.metric);
  }
  return headings.map((heading, index): CardColumn => {
    const said = chosen(heading);
    if (said !== undefined) return { heading, use: said };
    const content = contents[index] ?? 'empty';
    if (index === timePlace)
      return { heading, use: { kind: content === 'date' ? 'date' : 'time' } };
    if (timePlace !== undefined && contents[timePlace] === 'date' && content === 'clock')
      return { heading, use: { kind: 'clock' } };
    if (content === 'time' || content === 'date' || content === 'clock')
      return { heading, use: { kind: 'leave-out' } };
    const column = understandMetric(heading, cellsOf(index), decimal);
    if (column.use.kind !== 'metric') return column;
    if (taken.has(column.use.metric))
      return {
        heading,
        use: { kind: 'leave-out' },
        doubt: `“${heading}” seems to be ${metric(column.use.metric).label.toLowerCase()}, which another column has already; it is left out.`,
      };
    taken.add(column.use.metric);
    return column;
  });
}

/** The column to date the lines by: one with whole times, of several the one in UTC or the first; else Unix time; else a date. */
function placeOfTime(
  headings: readonly string[],
  contents: readonly Content[],
  cellsOf: (index: number) => readonly string[],
): number | undefined {
  const places = headings.map((_heading, index) => index);
  const whole = places.filter((index) => contents[index] === 'time');
  const utc = whole.find((index) => /utc|gmt/i.test(headings[index] ?? ''));
  if (utc !== undefined || whole.length > 0) return utc ?? whole[0];
  const date = places.find((index) => contents[index] === 'date');
  if (date !== undefined) return date;
  const unix = places.filter(
    (index) =>
      contents[index] === 'number' &&
      cellsOf(index).filter(isTime).length >= cellsOf(index).length * 0.8,
  );
  return (
    unix.find((index) =>
      readHeading(headings[index] ?? '').words.some((word) => TIME_WORDS.has(word)),
    ) ?? unix.find((index) => index === 0)
  );
}

function understandMetric(
  heading: string,
  cells: readonly string[],
  decimal: '.' | ',',
): CardColumn {
  const guess = guessMetric(heading);
  if (guess === undefined)
    return {
      heading,
      use: { kind: 'leave-out' },
      ...(/^column \d+$/.test(heading) || cells.every(isMissingWord)
        ? {}
        : { doubt: `“${heading}” names nothing known here; it is left out.` }),
    };
  const numbers = cells.flatMap((cell) => readNumber(cell, decimal) ?? []).sort((a, b) => a - b);
  const middle = numbers[Math.floor(numbers.length / 2)];
  const unit = guess.unit ?? guessUnit(guess.metric, middle);
  const use = { kind: 'metric', metric: guess.metric, unit } as const;
  const entry: MetricEntry = metric(guess.metric);
  const label = entry.label.toLowerCase();
  if (guess.unit === undefined && unit !== guessUnit(guess.metric, undefined))
    return {
      heading,
      use,
      doubt: `“${heading}” names no unit; its numbers (about ${middle ?? '?'}) are taken as ${unit}, because ${label} of ${middle ?? '?'} ${entry.unit} is not possible.`,
    };
  if (guess.unit === undefined && isPerhapsRatio(guess.metric, numbers))
    return {
      heading,
      use,
      doubt: `“${heading}” never exceeds 1: is it a share from 0 to 1 and not a percentage? It is taken as percent.`,
    };
  return guess.unsure === undefined
    ? { heading, use }
    : { heading, use, doubt: `“${heading}” is taken as ${label}; say so if it is something else.` };
}

/** Percentages that all lie between 0 and 1, and not all at their ends. */
const isPerhapsRatio = (key: MetricKey, sorted: readonly number[]): boolean =>
  metric(key).unit === '%' &&
  (sorted.at(-1) ?? 2) <= 1 &&
  (sorted[0] ?? -1) >= 0 &&
  sorted.some((value) => value > 0 && value < 1);

function zoneOf(
  settings: CardSettings,
  {
    above,
    columns,
    siteZone,
  }: {
    readonly above: readonly string[];
    readonly columns: readonly CardColumn[];
    readonly siteZone: string;
  },
): Pick<CardForm, 'zone' | 'zoneFrom'> {
  if (settings.zone !== undefined) return { zone: settings.zone, zoneFrom: 'chosen' };
  const heading = columns.find(({ use }) => use.kind === 'time' || use.kind === 'date')?.heading;
  if (heading !== undefined && /\b(?:utc|gmt)\b|_utc|utc_|\(z\)/i.test(heading))
    return { zone: 'UTC', zoneFrom: 'heading' };
  for (const line of above.filter((one) => /zone|tz|utc|gmt/i.test(one))) {
    for (const [name] of line.matchAll(
      /\b(?:[A-Z][A-Za-z]+(?:\/[A-Z][A-Za-z_-]+){1,2}|UTC|GMT)\b(?![-+]\d)/g,
    ))
      if (isZone(name))
        return { zone: name === 'GMT' ? 'UTC' : name, zoneFrom: 'said in the file' };
  }
  return { zone: siteZone, zoneFrom: 'site' };
}
