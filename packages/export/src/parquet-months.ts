import { qualityFlags, type MetricKey } from '@duskline/domain';
import { ByteWriter, ParquetWriter, type ColumnSource } from 'hyparquet-writer';
import type { SchemaElement } from 'hyparquet';
import { setImmediate as turnOfOthers } from 'node:timers/promises';
import {
  BLOCK_ROWS,
  MetricColumns,
  type RowBlock,
  type RowFacts,
  type SpareBlocks,
} from './metric-columns.ts';
import { testNames, timeQualityWord, unitOf } from './node-readings.ts';

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

/** The place of a row's facts is told in 16 bits; a page of samples brings at most some hundred new ones. */
const MOST_FACTS = 60_000;

/** A month of one site, gathered metric by metric, and written as one Parquet file sorted by metric and time. */
export class ParquetMonth {
  readonly #site: string;
  readonly #node: string;
  readonly #spare: SpareBlocks;
  readonly #metrics = new Map<MetricKey, MetricColumns>();

  constructor(siteId: string, node: string, spare: SpareBlocks) {
    this.#site = siteId;
    this.#node = node;
    this.#spare = spare;
  }

  columns(key: MetricKey): MetricColumns {
    let found = this.#metrics.get(key);
    if (found === undefined) {
      found = new MetricColumns(this.#spare);
      this.#metrics.set(key, found);
    }
    return found;
  }

  /** Before it is written. */
  get rows(): number {
    let rows = 0;
    for (const { length } of this.#metrics.values()) rows += length;
    return rows;
  }

  /** No more room for other kinds of rows: the file must be written before the next page comes. */
  get full(): boolean {
    for (const { facts } of this.#metrics.values()) if (facts.length >= MOST_FACTS) return true;
    return false;
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
      for (let block = rows.blocks.shift(); block !== undefined; block = rows.blocks.shift()) {
        await writer.write({
          columnData: this.#group(key, rows, block),
          rowGroupSize: BLOCK_ROWS,
        });
        this.#spare.give(block);
        yield taken();
        await turnOfOthers();
      }
      this.#metrics.delete(key);
    }
    await writer.finish();
    yield taken();
  }

  #group(key: MetricKey, { facts }: MetricColumns, rows: RowBlock): ColumnSource[] {
    const { length } = rows;
    const kinds = rows.kind;
    const said = <T>(of: (facts: RowFacts) => T): T[] => {
      const each = facts.map(of);
      const [only] = each;
      if (each.length === 1) return new Array<T>(length).fill(only as T);
      const made = new Array<T>(length);
      for (let i = 0; i < length; i += 1) made[i] = each[kinds[i] ?? 0] as T;
      return made;
    };
    const same = (value: string): string[] => new Array<string>(length).fill(value);
    const plain = (name: string, data: ColumnSource['data']): ColumnSource => ({
      name,
      data,
      statistics: false,
    });
    return [
      { name: 'site_id', data: same(this.#site) },
      plain('node_id', same(this.#node)),
      { name: 'metric', data: same(key) },
      {
        name: 'observed_at',
        data: bigMicros(rows.at.subarray(0, length)),
        encoding: 'DELTA_BINARY_PACKED',
      },
      { name: 'value', data: rows.value.subarray(0, length) },
      plain('unit', same(unitOf(key))),
      plain(
        'qc_flag',
        said(({ flag }) => flag),
      ),
      plain(
        'qc_tests_failed',
        said(({ testMask }) => testNames(testMask)),
      ),
      plain(
        'time_quality',
        said(({ timeQuality }) => timeQualityWord(timeQuality)),
      ),
      plain(
        'aggregation',
        said(({ aggregation }) => aggregation),
      ),
      plain(
        'interval_s',
        said(({ intervalS }) => intervalS),
      ),
      plain(
        'n_samples',
        said(({ count }) => count),
      ),
      plain(
        'part_id',
        said(({ part }) => part),
      ),
      {
        ...plain('received_at', bigMicros(rows.received.subarray(0, length))),
        encoding: 'DELTA_BINARY_PACKED',
      },
      plain(
        'source',
        said(({ source }) => source),
      ),
      plain(
        'n_expected',
        said(({ expected }) => expected),
      ),
    ];
  }
}

const TWO_32 = 2 ** 32;

/** Whole microseconds as 64-bit integers, by their two halves: a BigInt for each would be made and thrown away. */
function bigMicros(numbers: Float64Array): BigInt64Array {
  const made = new BigInt64Array(numbers.length);
  const halves = new DataView(made.buffer);
  for (let i = 0; i < numbers.length; i += 1) {
    const micros = numbers[i] ?? 0;
    const high = Math.floor(micros / TWO_32);
    halves.setUint32(i * 8, micros - high * TWO_32, true);
    halves.setInt32(i * 8 + 4, high, true);
  }
  return made;
}
