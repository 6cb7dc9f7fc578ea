import { failed, metric as entryOf, ok, type MetricKey, type Result } from '@duskline/domain';
import type { ColumnRef, LogShape, TimeFormat } from './log-shape.ts';
import { splitLine } from './split-line.ts';

/** One value as the log wrote it; a word where the metric is a code. */
export interface LoggedValue {
  readonly metric: MetricKey;
  readonly unit: string | undefined;
  readonly value: number | string;
}

/** One line of the log: readings that share a time. */
export interface LoggedLine {
  readonly observedAtMs: number;
  readonly values: readonly LoggedValue[];
}

/**
 * Reads one line of the builder's log.
 *
 * @param header the fields of the header line, empty when the log has none
 * @returns the readings in it; an empty field is no reading; else a fault that says which field is wrong and why
 */
export function parseLine(
  line: string,
  log: LogShape,
  header: readonly string[],
): Result<LoggedLine, string> {
  const fields = splitLine(line, log.separator);
  // Two lines run together by a power cut would give readings of one the time of the other.
  if (header.length > 0 && fields.length > header.length)
    return failed(`${fields.length} fields, but the header has ${header.length}`);
  const at = (ref: ColumnRef) =>
    typeof ref === 'number' ? fields[ref - 1] : fields[header.indexOf(ref)];

  const timeText = at(log.time.column);
  if (timeText === undefined || timeText === '')
    return failed(`no time in column ${log.time.column}`);
  const observedAtMs = parseTime(timeText, log.time.format);
  if (observedAtMs === undefined)
    return failed(`the time "${timeText}" is not ${sayFormat[log.time.format]}`);

  const values: LoggedValue[] = [];
  for (const { column, metric, unit } of log.columns) {
    const text = at(column);
    if (text === undefined || log.missing.has(text.toLowerCase())) continue;
    const value = parseValue(text, metric, log.decimal);
    if (value === undefined)
      return failed(`column ${column} (${metric}) is "${text}", not a number`);
    values.push({ metric, unit, value });
  }
  if (values.length === 0) return failed('no readings');
  return ok({ observedAtMs, values });
}

/** The names that the configuration gives and the header lacks. */
export function namesMissingIn(header: readonly string[], log: LogShape): readonly string[] {
  return [log.time.column, ...log.columns.map(({ column }) => column)].filter(
    (ref): ref is string => typeof ref === 'string' && !header.includes(ref),
  );
}

const NUMBER = /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i;

function parseValue(
  text: string,
  metric: MetricKey,
  decimal: LogShape['decimal'],
): number | string | undefined {
  const plain = decimal === ',' ? text.replace(',', '.') : text;
  if (NUMBER.test(plain)) return Number(plain);
  const { codes } = entryOf(metric);
  const word = text.toLowerCase();
  return codes?.includes(word) === true ? word : undefined;
}

const sayFormat: Readonly<Record<TimeFormat, string>> = {
  unix: 'Unix time in seconds',
  'unix-ms': 'Unix time in milliseconds',
  iso: 'an ISO time with Z or an offset, such as 2026-11-25T07:00:00Z',
};

const ISO = /^\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d(\.\d+)?)?(Z|[+-]\d\d:?\d\d)$/i;

function parseTime(text: string, format: TimeFormat): number | undefined {
  if (format === 'iso') {
    // Without an offset the same text would mean another instant on another machine.
    if (!ISO.test(text)) return undefined;
    const ms = Date.parse(text.replace(' ', 'T'));
    return Number.isNaN(ms) ? undefined : ms;
  }
  if (!NUMBER.test(text)) return undefined;
  return Math.round(format === 'unix' ? Number(text) * 1000 : Number(text));
}
