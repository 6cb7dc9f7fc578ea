import type { MetricKey } from '@duskline/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { readCardText } from './testing.ts';

const pad = (value: number, width = 2): string => String(value).padStart(width, '0');

/** Ways to write an instant whose reading needs no zone. */
const timeForms: readonly ((at: Date) => string)[] = [
  (at) => at.toISOString(),
  (at) => at.toISOString().replace('T', ' ').replace('.000Z', 'Z'),
  (at) => String(at.getTime() / 1000),
  (at) => String(at.getTime()),
  (at) =>
    `${pad(at.getUTCDate())}.${pad(at.getUTCMonth() + 1)}.${at.getUTCFullYear()} ${at.toISOString().slice(11, 19)}Z`,
  (at) => new Date(at.getTime() + 7_200_000).toISOString().replace('.000Z', '+02:00'),
];

const headings: readonly (readonly [MetricKey, string])[] = [
  ['batt_v', 'batt_v'],
  ['air_temp', 'Air temperature (°C)'],
  ['rel_hum', 'rel_hum [%]'],
  ['wind_speed', 'windSpeed [m/s]'],
];

describe('any way of writing the same readings', () => {
  it('gives the same readings', { timeout: 60_000 }, () => {
    fc.assert(
      fc.property(
        fc.record({
          delimiter: fc.constantFrom(',', ';', '\t', '|'),
          decimal: fc.constantFrom('.', ','),
          quoted: fc.boolean(),
          crlf: fc.boolean(),
          form: fc.nat({ max: timeForms.length - 1 }),
          startS: fc.integer({
            min: Date.UTC(2021, 0, 13) / 1000,
            max: Date.UTC(2026, 9, 1) / 1000,
          }),
          values: fc.array(
            fc.tuple(
              ...headings.map(() => fc.option(fc.integer({ min: 1050, max: 4800 }), { freq: 8 })),
            ),
            { minLength: 5, maxLength: 40 },
          ),
        }),
        ({ delimiter, decimal, quoted, crlf, form, startS, values }) => {
          // A comma cannot be both marks unless cells are quoted: no file is written so.
          fc.pre(delimiter !== ',' || decimal === '.' || quoted);
          // A column without any number has no unit to be seen, a log of empty lines no columns.
          fc.pre(
            headings.every(
              (_heading, place) => values.filter((row) => row[place] !== null).length >= 3,
            ),
          );
          const cell = (text: string): string => (quoted ? `"${text}"` : text);
          const rows = values.map((row, index) => {
            const at = new Date((startS + index * 300) * 1000);
            const written = row.map((value) =>
              value === null ? '' : (value / 100).toFixed(2).replace('.', decimal),
            );
            return [timeForms[form]!(at), ...written].map(cell).join(delimiter);
          });
          const head = ['timestamp', ...headings.map(([, heading]) => heading)]
            .map(cell)
            .join(delimiter);
          const { samples } = readCardText([head, ...rows, ''].join(crlf ? '\r\n' : '\n'));
          const expected = values.flatMap((row, index) => {
            const readings = headings
              .flatMap(([metric], place) =>
                row[place] === null ? [] : [[metric, row[place]! / 100] as const],
              )
              .sort(([a], [b]) => (a < b ? -1 : 1));
            return readings.length === 0 ? [] : [[(startS + index * 300) * 1000, readings]];
          });
          expect(
            samples.map(({ observedAtMs, metrics, values: numbers }) => [
              observedAtMs,
              metrics.map((metric, place) => [metric, numbers[place]]),
            ]),
          ).toEqual(expected);
        },
      ),
      { numRuns: 100 },
    );
  });
});
