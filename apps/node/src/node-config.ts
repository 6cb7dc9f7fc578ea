import {
  failed,
  metricOf,
  ok,
  parseNodeName,
  type MetricKey,
  type NodeName,
  type Result,
} from '@duskline/domain';

/** Which column of the log is what. Columns are counted from 1, or named when the log has a header. */
export type ColumnRef = number | string;

export interface LogColumn {
  readonly column: ColumnRef;
  readonly metric: MetricKey;
  /** The unit as the log writes it, in SenML's spelling; it is sent as it is and converted by the server. */
  readonly unit: string | undefined;
}

export type TimeFormat = 'unix' | 'unix-ms' | 'iso';

export interface NodeConfig {
  readonly node: NodeName;
  readonly broker: string;
  readonly secretFile: string;
  readonly stateDir: string;
  readonly log: {
    readonly path: string;
    readonly separator: 'whitespace' | string;
    readonly header: boolean;
    readonly time: { readonly column: ColumnRef; readonly format: TimeFormat };
    readonly columns: readonly LogColumn[];
  };
}

const EXAMPLE = '{ "column": 2, "metric": "batt_v", "unit": "V" }';

/** The configuration in a parsed JSON file, or every fault in it at once, each with how to mend it. */
export function parseNodeConfig(json: unknown): Result<NodeConfig, readonly string[]> {
  const faults: string[] = [];
  const top = record(json, 'the file', faults);
  const log = record(top['log'], '"log"', faults);
  const time = record(log['time'], '"log.time"', faults);

  const name = text(top['node'], '"node"', faults);
  const node = parseNodeName(name);
  if (node === undefined && name !== '')
    faults.push(`"node" is "${name}"; a node name has 3 to 40 of a–z, 0–9 and "-".`);
  const broker = text(top['broker'], '"broker" (e.g. "mqtt://example.org:1883")', faults);
  if (broker !== '' && !/^(mqtts?|wss?):\/\/[^/]+/.test(broker))
    faults.push(`"broker" is "${broker}"; it starts with mqtt://, mqtts://, ws:// or wss://.`);
  const separator = text(log['separator'] ?? ',', '"log.separator"', faults);
  const header = log['header'] === true;
  const format = time['format'];
  if (format !== 'unix' && format !== 'unix-ms' && format !== 'iso')
    faults.push(
      '"log.time.format" is one of "unix" (seconds), "unix-ms", "iso" (with Z or an offset).',
    );
  const timeColumn = columnRef(time['column'], '"log.time.column"', { header, faults });
  const columns = columnsOf(log['columns'], header, faults);
  const path = text(log['path'], '"log.path"', faults);
  const secretFile = text(top['secretFile'], '"secretFile"', faults);
  const stateDir = text(top['stateDir'], '"stateDir"', faults);
  if (faults.length > 0 || node === undefined) return failed(faults);
  return ok({
    node,
    broker,
    secretFile,
    stateDir,
    log: {
      path,
      separator,
      header,
      time: { column: timeColumn, format: format as TimeFormat },
      columns,
    },
  });
}

function record(value: unknown, what: string, faults: string[]): Record<string, unknown> {
  if (typeof value === 'object' && value !== null && !Array.isArray(value))
    return value as Record<string, unknown>;
  faults.push(`${what} is missing or is not an object { … }.`);
  return {};
}

function text(value: unknown, what: string, faults: string[]): string {
  if (typeof value === 'string' && value !== '') return value;
  faults.push(`${what} is missing or is not text.`);
  return '';
}

function columnRef(
  value: unknown,
  what: string,
  { header, faults }: { readonly header: boolean; readonly faults: string[] },
): ColumnRef {
  if (typeof value === 'number' && Number.isInteger(value) && value >= 1) return value;
  if (typeof value === 'string' && value !== '') {
    if (!header) faults.push(`${what} is the name "${value}", but "log.header" is not true.`);
    return value;
  }
  faults.push(`${what} is missing: a column number from 1, or a name from the header.`);
  return 0;
}

function columnsOf(value: unknown, header: boolean, faults: string[]): readonly LogColumn[] {
  if (!Array.isArray(value) || value.length === 0) {
    faults.push(`"log.columns" is missing: a list such as [${EXAMPLE}].`);
    return [];
  }
  return value.flatMap((entry: unknown, i) => {
    const what = `"log.columns[${i}]"`;
    const fields = record(entry, what, faults);
    const column = columnRef(fields['column'], `${what}.column`, { header, faults });
    const key = text(fields['metric'], `${what}.metric`, faults);
    const metric = metricOf(key);
    if (metric === undefined) {
      if (key !== '')
        faults.push(`${what}.metric is "${key}", which the metric catalogue does not have.`);
      return [];
    }
    const unit = fields['unit'];
    if (unit !== undefined && typeof unit !== 'string') faults.push(`${what}.unit is not text.`);
    return [{ column, metric, unit: typeof unit === 'string' ? unit : undefined }];
  });
}
