import { describe, expect, it } from 'vitest';
import { parseNodeLog } from './node-log.ts';

const read = (text: string) => {
  const result = parseNodeLog(text);
  if (!result.ok) throw new Error(`${result.fault.where}: ${result.fault.problem}`);
  return result.value;
};
const fault = (text: string) => {
  const result = parseNodeLog(text);
  if (result.ok) throw new Error('it was taken');
  return `${result.fault.where}: ${result.fault.problem}`;
};

describe('a plain log', () => {
  it('is read by row and by the hour, whatever the order of rows and columns', () => {
    const { timesMs, columns, hourly } = read(
      [
        '# from the memory card',
        '\uFEFFpanel_w,time_utc,note,charge_pct',
        '4,2026-01-05T01:30Z,x,80',
        '2,2026-01-05T00:10Z,,60',
        '6,2026-01-05T01:45Z,,',
        '',
      ]
        .join('\n')
        .replace('\uFEFF', ''),
    );
    expect([...timesMs].map((ms) => new Date(ms).toISOString())).toEqual([
      '2026-01-05T00:10:00.000Z',
      '2026-01-05T01:30:00.000Z',
      '2026-01-05T01:45:00.000Z',
    ]);
    expect([...columns.get('panel_w')!]).toEqual([2, 4, 6]);
    expect(columns.get('charge_pct')![2]).toBeNaN();
    expect(columns.has('load_w')).toBe(false);
    expect(new Date(hourly.startMs).toISOString()).toBe('2026-01-05T00:00:00.000Z');
    expect(hourly.panelW).toEqual([2, 5]);
    expect(hourly.chargeRatio).toEqual([0.6, 0.8]);
    expect(hourly.loadW).toEqual([null, null]);
  });

  it('takes the last of two rows of one instant, a time without zone as UTC, another zone as it says', () => {
    const { timesMs, columns } = read(
      'time_utc,load_w\n2026-01-05 00:00,1\n2026-01-05T01:00+01:00,2\n2026-01-06,3',
    );
    expect([...timesMs]).toEqual([Date.UTC(2026, 0, 5), Date.UTC(2026, 0, 6)]);
    expect([...columns.get('load_w')!]).toEqual([2, 3]);
  });

  it('leaves hours without a row as gaps, and a charge beyond its range at its end', () => {
    const { hourly } = read('time_utc,charge_pct\n2026-01-05T00:00Z,104\n2026-01-05T03:00Z,-2');
    expect(hourly.chargeRatio).toEqual([1, null, null, 0]);
  });

  it.each([
    ['load_w\n1', 'line 1: there is no column time_utc'],
    [
      'time_utc,humidity\n2026-01-05,1',
      'line 1: there is none of the columns charge_pct, battery_v, battery_a, panel_w, load_w, t_air',
    ],
    ['time_utc,load_w', 'the file: there is no reading in it'],
    [
      'time_utc,load_w\n2026-01-05,1\n5 January,2',
      'line 3: “5 January” is no time such as 2026-01-05T00:00Z',
    ],
    ['time_utc,load_w\n2026-01-05,1 W', 'line 2, load_w: “1 W” is no number'],
    [
      'time_utc,load_w\n1926-01-05,1\n2026-01-05,1',
      'column time_utc: the readings span more than sixty years',
    ],
  ])('says where it is wrong: %j', (text, says) => {
    expect(fault(text)).toBe(says);
  });
});
