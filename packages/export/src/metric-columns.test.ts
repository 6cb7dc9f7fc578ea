import { expect, it } from 'vitest';
import { BLOCK_ROWS, MetricColumns, SpareBlocks } from './metric-columns.ts';

it('keeps every row in order, in full blocks and one that is not', () => {
  const columns = new MetricColumns(new SpareBlocks());
  const rows = 2 * BLOCK_ROWS + 1500;
  for (let i = 0; i < rows; i += 1) columns.add(i, i + 0.5, -i, i % 3);
  expect(columns.length).toBe(rows);
  expect(columns.blocks.map(({ length }) => length)).toEqual([BLOCK_ROWS, BLOCK_ROWS, 1500]);
  const told = columns.blocks.flatMap(({ length, at, received, value, kind }) =>
    Array.from({ length }, (_, i) => [at[i], received[i], value[i], kind[i]]),
  );
  expect(told).toEqual(Array.from({ length: rows }, (_, i) => [i, i + 0.5, -i, i % 3]));
});

it('gives a few rows of a metric little room', () => {
  const columns = new MetricColumns(new SpareBlocks());
  for (let i = 0; i < 1025; i += 1) columns.add(i, i, i, 0);
  expect(columns.blocks[0]?.at.length).toBe(2048);
  expect(columns.blocks[0]?.value.slice(1020, 1025)).toEqual(
    Float64Array.of(1020, 1021, 1022, 1023, 1024),
  );
});

it('has one place for the same facts', () => {
  const columns = new MetricColumns(new SpareBlocks());
  const facts = {
    ...{ flag: 1, testMask: 0, timeQuality: 0, aggregation: 'raw', intervalS: null },
    ...{ count: 1, expected: null, part: '', source: 'air' },
  };
  expect(columns.placeOf(facts)).toBe(0);
  expect(columns.placeOf({ ...facts, flag: 3 })).toBe(1);
  expect(columns.placeOf({ ...facts })).toBe(0);
  expect(columns.facts).toHaveLength(2);
});

it('takes a block that was written for the rows that come next', () => {
  const spare = new SpareBlocks();
  const first = new MetricColumns(spare);
  for (let i = 0; i <= BLOCK_ROWS; i += 1) first.add(i, i, i, 0);
  const [written] = first.blocks;
  if (written === undefined) throw new Error('There is no block.');
  spare.give(written);
  const next = new MetricColumns(spare);
  next.add(7, 8, 9, 0);
  expect(next.blocks[0]).toBe(written);
  expect(next.length).toBe(1);
  expect(written.value[0]).toBe(9);
});
