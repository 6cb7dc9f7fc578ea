import { describe, expect, it } from 'vitest';
import { areaPath, bandPath, breakAtGaps, linePath } from './path.ts';
import { linearScale, niceAxis } from './scale.ts';
import { midnights, timeTicks } from './ticks.ts';

const at = (text: string): number => Date.parse(text);

// Path syntax: SVG 2, chapter 9 (M = move, L = line, Z = close).
describe('paths', () => {
  it('draw a line and break it where nothing was heard', () => {
    expect(linePath([[0, 1], [10, 2], undefined, [20, 3], [30, 4.26]])).toBe(
      'M0,1L10,2M20,3L30,4.3',
    );
    expect(linePath([])).toBe('');
  });

  it('close the area down to its level, once for each stretch', () => {
    expect(
      areaPath(
        [
          [0, 1],
          [10, 2],
        ],
        9,
      ),
    ).toBe('M0,1L10,2L10,9L0,9Z');
    expect(
      bandPath([[0, 1, 5], [10, 2, 6], undefined, [20, 1, 2], [30, 1, 2]]).match(/Z/g),
    ).toHaveLength(2);
  });

  it('never bridge a silence longer than the gap', () => {
    const points = [0, 30, 60, 200, 230].map((atMs) => ({ atMs }));
    expect(breakAtGaps(points, 60).map((point) => point?.atMs)).toEqual([
      0,
      30,
      60,
      undefined,
      200,
      230,
    ]);
  });
});

describe('scales', () => {
  it('are straight, and put a value without spread in the middle', () => {
    expect(linearScale([0, 100], [200, 0])(25)).toBe(150);
    expect(linearScale([5, 5], [0, 10])(5)).toBe(5);
  });

  it('end on round numbers that hold every value', () => {
    expect(niceAxis(11.93, 13.38)).toEqual({
      domain: [11.5, 13.5],
      ticks: [11.5, 12, 12.5, 13, 13.5],
    });
    const flat = niceAxis(3, 3);
    expect(flat.domain[0]).toBeLessThan(3);
    expect(flat.domain[1]).toBeGreaterThan(3);
  });
});

// Clock changes in 2026, Europe/London: 29 March and 25 October (IANA time zone database).
describe('time ticks', () => {
  it('stand on the midnights of the site’s calendar, also when the clocks change', () => {
    const found = midnights(at('2026-10-24T12:00Z'), at('2026-10-27T12:00Z'), 'Europe/London');
    expect(found.map((ms) => new Date(ms).toISOString())).toEqual([
      '2026-10-24T23:00:00.000Z',
      '2026-10-26T00:00:00.000Z',
      '2026-10-27T00:00:00.000Z',
    ]);
  });

  it('are hours within a day, days within a month, months within a year', () => {
    const labels = (from: string, to: string, most: number): string[] =>
      timeTicks({ fromMs: at(from), toMs: at(to), timeZone: 'Europe/London' }, most).map(
        (tick) => tick.label,
      );
    expect(labels('2026-11-25T07:00Z', '2026-11-26T07:00Z', 5)).toEqual([
      '12:00',
      '18:00',
      '26 Nov',
      '06:00',
    ]);
    expect(labels('2026-11-01T00:00Z', '2026-11-30T00:00Z', 6)).toEqual([
      '1 Nov',
      '8 Nov',
      '15 Nov',
      '22 Nov',
      '29 Nov',
    ]);
    expect(labels('2026-01-15T00:00Z', '2026-12-15T00:00Z', 12)[0]).toBe('Feb');
  });
});
