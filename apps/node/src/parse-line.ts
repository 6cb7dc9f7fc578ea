import { failed, ok, type MetricKey, type Result } from '@duskline/domain';
import type { ColumnRef, NodeConfig, TimeFormat } from './node-config.ts';

/** One value as the log wrote it. */
export interface LoggedValue {
  readonly metric: MetricKey;
  readonly unit: string | undefined;
  readonly value: number;
}

/** One line of the log: readings that share a time. */
export interface LoggedLine {
  readonly observedAtMs: number;
  readonly values: readonly LoggedValue[];
}

type LogShape = NodeConfig['log'];

/** Cuts a line into its fields. */
export function splitLine(line: string, separator: string): readonly string[] {
  const fields = separator === 'whitespace' ? line.trim().split(/\s+/) : line.split(separator);
  return fields.map((field) => field.trim().replace(/^"(.*)"$/, '$1'));
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
  const at = (ref: ColumnRef) =>
    typeof ref === 'number' ? fields[ref - 1] : fields[header.indexOf(ref)];

  const timeText = at(log.time.column);
  if (timeText === undefined || timeText === '')
    return failed(`no time in column ${log.time.column}: "${line}"`);
  const observedAtMs = parseTime(timeText, log.time.format);
  if (observedAtMs === undefined)
    return failed(`the time "${timeText}" is not ${sayFormat[log.time.format]}`);

  const values: LoggedValue[] = [];
  for (const { column, metric, unit } of log.columns) {
    const text = at(column);
    if (text === undefined || text === '') continue;
    const value = Number(text);
    if (!Number.isFinite(value))
      return failed(`column ${column} (${metric}) is "${text}", not a number`);
    values.push({ metric, unit, value });
  }
  if (values.length === 0) return failed(`no readings in "${line}"`);
  return ok({ observedAtMs, values });
}

const sayFormat: Readonly<Record<TimeFormat, string>> = {
  unix: 'Unix time in seconds',
  'unix-ms': 'Unix time in milliseconds',
  iso: 'an ISO time with Z or an offset, such as 2026-11-25T07:00:00Z',
};

function parseTime(text: string, format: TimeFormat): number | undefined {
  if (format === 'iso') {
    // Without an offset the same text would mean another instant on another machine.
    if (!/(Z|[+-]\d\d:?\d\d)$/i.test(text)) return undefined;
    const ms = Date.parse(text.replace(' ', 'T'));
    return Number.isNaN(ms) ? undefined : ms;
  }
  const number = Number(text);
  if (!Number.isFinite(number)) return undefined;
  return Math.round(format === 'unix' ? number * 1000 : number);
}
