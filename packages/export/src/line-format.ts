import { textCell } from './csv-text.ts';

/** What makes two lines of one metric alike beyond time and value. */
export interface LineFacts {
  readonly unit: string;
  readonly flag: number;
  readonly tests: string;
  readonly timeQuality: string;
  readonly aggregation: string;
  /** Null: a reading of one moment. */
  readonly intervalS: number | null;
  readonly count: number;
  readonly part: string;
}

/**
 * One line an observation, put together from pieces, most of which are the same from line to line and made once:
 * head + time + afterTime + value + middle + received time + tail.
 */
export interface LineFormat {
  readonly ending: string;
  /** How its text becomes bytes: text that is ASCII throughout is copied, not encoded. */
  readonly encoding: 'utf8' | 'latin1';
  heading(extra: { readonly localTime: boolean; readonly expected: boolean }): string;
  head(siteId: string, node: string, metric: string): string;
  readonly afterTime: string;
  middle(facts: LineFacts): string;
  tail(
    source: string,
    extra: { readonly localTime?: string | undefined; readonly expected?: number | undefined },
  ): string;
}

export const observationColumns = [
  'site_id',
  'node_id',
  'metric',
  'observed_at',
  'value',
  'unit',
  'qc_flag',
  'qc_tests_failed',
  'time_quality',
  'aggregation',
  'interval_s',
  'n_samples',
  'part_id',
  'received_at',
  'source',
] as const;

export const csvLines: LineFormat = {
  ending: 'csv',
  encoding: 'utf8',
  heading: ({ localTime, expected }) =>
    `${[...observationColumns, ...(expected ? ['n_expected'] : []), ...(localTime ? ['observed_at_local'] : [])].join(',')}\r\n`,
  head: (siteId, node, metric) => `${textCell(siteId)},${textCell(node)},${metric},`,
  afterTime: ',',
  middle: ({ unit, flag, tests, timeQuality, aggregation, intervalS, count, part }) =>
    `,${unit},${flag},${tests},${timeQuality},${aggregation},${intervalS ?? ''},${count},${part},`,
  tail: (source, { localTime, expected }) =>
    `,${source}${expected === undefined ? '' : `,${expected}`}${localTime === undefined ? '' : `,${localTime}`}\r\n`,
};

/** JSON of a text in ASCII (RFC 8259 §7): text with `°` in it takes twice as long to become UTF-8 (measured), and this is the same to read. */
const asciiJson = (text: string): string =>
  JSON.stringify(text).replaceAll(
    /[\u007f-\uffff]/g,
    (mark) => `\\u${mark.charCodeAt(0).toString(16).padStart(4, '0')}`,
  );

export const ndjsonLines: LineFormat = {
  ending: 'ndjson',
  encoding: 'latin1',
  heading: () => '',
  head: (siteId, node, metric) =>
    `{"site_id":${asciiJson(siteId)},"node_id":${asciiJson(node)},"metric":"${metric}","observed_at":"`,
  afterTime: '","value":',
  middle: ({ unit, flag, tests, timeQuality, aggregation, intervalS, count, part }) =>
    `,"unit":${asciiJson(unit)},"qc_flag":${flag},"qc_tests_failed":"${tests}","time_quality":"${timeQuality}","aggregation":"${aggregation}","interval_s":${intervalS ?? 'null'},"n_samples":${count},"part_id":${part === '' ? 'null' : `"${part}"`},"received_at":"`,
  tail: (source, { localTime, expected }) =>
    `","source":"${source}"${expected === undefined ? '' : `,"n_expected":${expected}`}${localTime === undefined ? '' : `,"observed_at_local":"${localTime}"`}}\n`,
};
