import {
  failed,
  metric as entryOf,
  metricOf,
  ok,
  parseNodeName,
  type MetricEntry,
  type MetricKey,
  type Result,
} from '@duskline/domain';
import { decodeMessage, encodeSenmlJson, topicFor } from '@duskline/wire';
import { readRecord, readText, type Faults } from './json-fields.ts';

/** Which column of the log is what. Columns are counted from 1, or named when the log has a header. */
export type ColumnRef = number | string;

export interface LogColumn {
  readonly column: ColumnRef;
  readonly metric: MetricKey;
  /** The unit as the log writes it, in SenML's spelling; it is sent as it is and converted by the server. */
  readonly unit: string | undefined;
}

export const timeFormats = ['unix', 'unix-ms', 'iso'] as const;
export type TimeFormat = (typeof timeFormats)[number];

/** How the builder's own script writes its log. */
export interface LogShape {
  readonly path: string;
  /** One or more characters, or the word `whitespace`. */
  readonly separator: string;
  readonly header: boolean;
  readonly decimal: '.' | ',';
  /** Texts, in small letters, that stand where there is no reading. */
  readonly missing: ReadonlySet<string>;
  readonly time: { readonly column: ColumnRef; readonly format: TimeFormat };
  readonly columns: readonly LogColumn[];
}

const MISSING = ['', 'nan', 'na', 'n/a', 'null', 'none', '-', '--'];
const EXAMPLE = '{ "column": 2, "metric": "batt_v", "unit": "V" }';

/** The part `log` of the configuration; every fault goes to `faults`, with how to mend it. */
export function readLogShape(json: unknown, faults: Faults): LogShape {
  const log = readRecord(json, '"log"', faults);
  const time = readRecord(log['time'], '"log.time"', faults);
  const header = log['header'] === true;
  const separator = readText(log['separator'] ?? ',', '"log.separator"', faults);
  const decimal = log['decimal'] ?? '.';
  if (decimal !== '.' && decimal !== ',') faults.push('"log.decimal" is "." or ",".');
  if (decimal === ',' && separator === ',')
    faults.push(
      '"log.separator" and "log.decimal" are both ","; one of them is another character.',
    );
  const format = timeFormats.find((known) => known === time['format']);
  if (format === undefined)
    faults.push(
      '"log.time.format" is one of "unix" (seconds), "unix-ms", "iso" (with Z or an offset).',
    );
  return {
    path: readText(log['path'], '"log.path"', faults),
    separator,
    header,
    decimal: decimal === ',' ? ',' : '.',
    missing: readMissing(log['missing'], faults),
    time: {
      column: readColumn(time['column'], '"log.time.column"', { header, faults }),
      format: format ?? 'iso',
    },
    columns: readColumns(log['columns'], { header, faults }),
  };
}

function readMissing(value: unknown, faults: Faults): ReadonlySet<string> {
  if (value === undefined) return new Set(MISSING);
  const isList = Array.isArray(value) && value.every((text) => typeof text === 'string');
  if (!isList) {
    faults.push('"log.missing" is a list of texts, such as ["", "nan"].');
    return new Set(MISSING);
  }
  return new Set(['', ...value.map((text) => text.toLowerCase())]);
}

interface Context {
  readonly header: boolean;
  readonly faults: Faults;
}

function readColumn(value: unknown, what: string, { header, faults }: Context): ColumnRef {
  if (typeof value === 'number' && Number.isInteger(value) && value >= 1) return value;
  if (typeof value === 'string' && value !== '') {
    if (!header) faults.push(`${what} is the name "${value}", but "log.header" is not true.`);
    return value;
  }
  faults.push(`${what} is missing: a column number from 1, or a name from the header.`);
  return 0;
}

function readColumns(value: unknown, context: Context): readonly LogColumn[] {
  const { faults } = context;
  if (!Array.isArray(value) || value.length === 0) {
    faults.push(`"log.columns" is missing: a list such as [${EXAMPLE}].`);
    return [];
  }
  const columns = value.flatMap((entry: unknown, i) => {
    const what = `"log.columns[${i}]"`;
    const fields = readRecord(entry, what, faults);
    const column = readColumn(fields['column'], `${what}.column`, context);
    const metric = readMetric(fields['metric'], what, faults);
    const unit = fields['unit'];
    if (unit !== undefined && typeof unit !== 'string') faults.push(`${what}.unit is not text.`);
    if (metric === undefined) return [];
    const known = { column, metric, unit: typeof unit === 'string' ? unit : undefined };
    const tried = tryUnit(known);
    if (!tried.ok) faults.push(`${what}.unit: ${tried.fault}`);
    return [known];
  });
  const doubled = columns.find(
    ({ metric }, i) => columns.findIndex((other) => other.metric === metric) < i,
  );
  if (doubled !== undefined)
    faults.push(`"log.columns" has ${doubled.metric} twice; a node has one of each metric.`);
  return columns;
}

function readMetric(value: unknown, what: string, faults: Faults): MetricKey | undefined {
  const key = readText(value, `${what}.metric`, faults);
  if (key === '') return undefined;
  const metric = metricOf(key);
  if (metric === undefined)
    faults.push(`${what}.metric is "${key}", which the metric catalogue does not have.`);
  if (metric === 'boot' || metric === 'seq')
    faults.push(
      `${what}.metric is "${key}", which numbers the messages and is given by this program.`,
    );
  return metric;
}

const PROBE = parseNodeName('probe');

/** What the server would say to a zero in this unit: better heard at the desk than found in the quarantine. */
function tryUnit({ metric, unit }: LogColumn): Result<undefined, string> {
  const entry: MetricEntry = entryOf(metric);
  if (PROBE === undefined || (entry.codes === undefined && entry.senml === undefined))
    return ok(undefined);
  const record = { n: metric, v: 0, ...(unit === undefined ? {} : { u: unit }) };
  const packet = {
    topic: topicFor(PROBE, 'live'),
    payload: encodeSenmlJson([record]),
    receivedAtMs: 0,
  };
  const decoded = decodeMessage(packet, { inflate: () => failed('corrupt') });
  return decoded.ok || decoded.fault.code === 'place-incomplete'
    ? ok(undefined)
    : failed(decoded.fault.reason.replace(/^Record 0 /, ''));
}
