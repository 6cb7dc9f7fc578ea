import { qualityFlags, type MetricKey } from '@duskline/domain';
import { ByteWriter, ParquetWriter, type ColumnSource } from 'hyparquet-writer';
import type { SchemaElement } from 'hyparquet';
import { testNames, timeQualityWord, unitOf } from './node-readings.ts';

/** Rows of a metric written at once: what is encoded lies in memory. */
const GROUP_ROWS = 32_768;

const text = (name: string): SchemaElement => ({
  name,
  type: 'BYTE_ARRAY',
  repetition_type: 'REQUIRED',
  converted_type: 'UTF8',
  logical_type: { type: 'STRING' },
});
const instant = (
  name: string,
  repetition: 'REQUIRED' | 'OPTIONAL' = 'REQUIRED',
): SchemaElement => ({
  name,
  type: 'INT64',
  repetition_type: repetition,
  // Without this a reader takes the column for a time without zone.
  logical_type: { type: 'TIMESTAMP', isAdjustedToUTC: true, unit: 'MICROS' },
});
const number = (
  name: string,
  type: 'DOUBLE' | 'INT32',
  repetition: 'REQUIRED' | 'OPTIONAL' = 'REQUIRED',
): SchemaElement => ({ name, type, repetition_type: repetition });

const columns: readonly SchemaElement[] = [
  text('site_id'),
  text('node_id'),
  text('metric'),
  instant('observed_at'),
  number('value', 'DOUBLE'),
  text('unit'),
  number('qc_flag', 'INT32'),
  text('qc_tests_failed'),
  text('time_quality'),
  text('aggregation'),
  number('interval_s', 'DOUBLE', 'OPTIONAL'),
  number('n_samples', 'INT32'),
  text('part_id'),
  instant('received_at'),
  text('source'),
  number('n_expected', 'INT32', 'OPTIONAL'),
];
const schema: SchemaElement[] = [{ name: 'root', num_children: columns.length }, ...columns];

/** One row. Times are microseconds since 1970. */
export interface ParquetRow {
  readonly atMicros: number;
  readonly value: number;
  readonly flag: number;
  readonly testMask: number;
  readonly timeQuality: number;
  readonly aggregation: string;
  readonly intervalS: number | null;
  readonly count: number;
  readonly expected: number | null;
  readonly part: string;
  readonly receivedMicros: number;
  readonly source: string;
}

/** The rows of one metric in columns that grow: numbers as numbers, words as places in a list of the few there are. */
class MetricColumns {
  length = 0;
  #room = 1024;
  at = new Float64Array(1024);
  received = new Float64Array(1024);
  value = new Float64Array(1024);
  /** Place of the facts that go with the row in `facts`: there are few different ones. */
  kind = new Uint16Array(1024);
  readonly facts: Omit<ParquetRow, 'atMicros' | 'value' | 'receivedMicros'>[] = [];
  readonly #places = new Map<string, number>();
  #lastKey = '';
  #lastPlace = 0;

  add(row: ParquetRow): void {
    if (this.length === this.#room) this.#grow();
    const i = this.length;
    this.at[i] = row.atMicros;
    this.received[i] = row.receivedMicros;
    this.value[i] = row.value;
    this.kind[i] = this.#placeOf(row);
    this.length += 1;
  }

  #placeOf(row: ParquetRow): number {
    const key = `${row.flag} ${row.testMask} ${row.timeQuality} ${row.aggregation} ${row.intervalS} ${row.count} ${row.expected} ${row.part} ${row.source}`;
    if (key === this.#lastKey) return this.#lastPlace;
    let place = this.#places.get(key);
    if (place === undefined) {
      place = this.facts.length;
      this.facts.push(row);
      this.#places.set(key, place);
    }
    this.#lastKey = key;
    this.#lastPlace = place;
    return place;
  }

  /** No more room for another kind of row, or none for another row at a sensible size: the file must be written first. */
  get full(): boolean {
    return this.facts.length >= 65_000;
  }

  #grow(): void {
    this.#room *= 2;
    const wider = (old: Float64Array): Float64Array<ArrayBuffer> => {
      const made = new Float64Array(this.#room);
      made.set(old);
      return made;
    };
    this.at = wider(this.at);
    this.received = wider(this.received);
    this.value = wider(this.value);
    const kinds = new Uint16Array(this.#room);
    kinds.set(this.kind);
    this.kind = kinds;
  }
}

/** A month of one site, gathered metric by metric, and written as one Parquet file sorted by metric and time. */
export class ParquetMonth {
  readonly #site: string;
  readonly #node: string;
  readonly #metrics = new Map<MetricKey, MetricColumns>();
  rows = 0;

  constructor(siteId: string, node: string) {
    this.#site = siteId;
    this.#node = node;
  }

  add(key: MetricKey, row: ParquetRow): void {
    let found = this.#metrics.get(key);
    if (found === undefined) {
      found = new MetricColumns();
      this.#metrics.set(key, found);
    }
    found.add(row);
    this.rows += 1;
  }

  get full(): boolean {
    return [...this.#metrics.values()].some((one) => one.full);
  }

  /** The file, row group by row group; between two of them others get their turn. What was written is let go. */
  async *chunks(): AsyncGenerator<Uint8Array> {
    const keys = [...this.#metrics.keys()].sort();
    const bytes = new ByteWriter(1 << 20);
    const writer = new ParquetWriter({
      writer: bytes,
      schema,
      createdBy: 'Duskline',
      kvMetadata: [
        {
          key: 'units',
          value: JSON.stringify(Object.fromEntries(keys.map((key) => [key, unitOf(key)]))),
        },
        { key: 'time', value: 'observed_at and received_at are UTC, microseconds' },
        { key: 'qc_flag', value: JSON.stringify(qualityFlags) },
      ],
    });
    const taken = (): Uint8Array => {
      const out = bytes.getBytes().slice();
      bytes.index = 0;
      return out;
    };
    for (const key of keys) {
      const rows = this.#metrics.get(key);
      if (rows === undefined) continue;
      for (let from = 0; from < rows.length; from += GROUP_ROWS) {
        const to = Math.min(from + GROUP_ROWS, rows.length);
        await writer.write({
          columnData: this.#group(key, rows, from, to),
          rowGroupSize: GROUP_ROWS,
        });
        yield taken();
      }
      this.#metrics.delete(key);
    }
    await writer.finish();
    yield taken();
  }

  #group(key: MetricKey, rows: MetricColumns, from: number, to: number): ColumnSource[] {
    const length = to - from;
    const micros = (numbers: Float64Array): BigInt64Array => {
      const made = new BigInt64Array(length);
      for (let i = 0; i < length; i += 1) made[i] = BigInt(numbers[from + i] ?? 0);
      return made;
    };
    const said = <T>(of: (facts: MetricColumns['facts'][number]) => T): T[] => {
      const each = rows.facts.map(of);
      return Array.from({ length }, (_, i) => each[rows.kind[from + i] ?? 0] as T);
    };
    const same = (value: string): string[] => new Array<string>(length).fill(value);
    return [
      { name: 'site_id', data: same(this.#site) },
      { name: 'node_id', data: same(this.#node) },
      { name: 'metric', data: same(key) },
      { name: 'observed_at', data: micros(rows.at) },
      { name: 'value', data: rows.value.subarray(from, to) },
      { name: 'unit', data: same(unitOf(key)) },
      { name: 'qc_flag', data: said(({ flag }) => flag) },
      { name: 'qc_tests_failed', data: said(({ testMask }) => testNames(testMask)) },
      { name: 'time_quality', data: said(({ timeQuality }) => timeQualityWord(timeQuality)) },
      { name: 'aggregation', data: said(({ aggregation }) => aggregation) },
      { name: 'interval_s', data: said(({ intervalS }) => intervalS) },
      { name: 'n_samples', data: said(({ count }) => count) },
      { name: 'part_id', data: said(({ part }) => part) },
      { name: 'received_at', data: micros(rows.received) },
      { name: 'source', data: said(({ source }) => source) },
      { name: 'n_expected', data: said(({ expected }) => expected) },
    ];
  }
}
