import { describe, expect, it } from 'vitest';
import { readCardText, said } from './testing.ts';

const codesOf = (text: string, settings = {}) =>
  readCardText(text, settings).doubts.map(({ code }) => code);
const rows = (text: string, settings = {}) => readCardText(text, settings).samples.map(said);

// Logs of the invented Greywater network, as loggers are known to write them (common practice, no source).
describe('the log of a card', () => {
  it('with commas, points and UTC needs no question', () => {
    const text =
      'time,batt_v,batt_i,charge\n2026-11-25T07:00:00Z,12.84,-0.31,64\n2026-11-25T07:00:30Z,12.83,,64\n';
    expect(rows(text)).toEqual([
      '2026-11-25T07:00:00.000Z batt_i=-0.31 batt_v=12.84 charge=64',
      '2026-11-25T07:00:30.000Z batt_v=12.83 charge=64',
    ]);
    expect(codesOf(text)).toEqual([]);
  });

  it('with a title, semicolons, decimal commas, date and time apart, and units in the headings', () => {
    const text =
      'Greywater, Tarn Gill\r\nDatum;Uhrzeit;Batteriespannung [mV];Luftdruck (kPa);Lufttemperatur\r\n25.11.2026;07:00;12840;98,71;-3,5\r\n25.11.2026;07:05;12841;98,72;3,4\r\n';
    expect(rows(text)).toEqual([
      '2026-11-25T07:00:00.000Z air_press=987.1 air_temp=-3.5 batt_v=12.84',
      '2026-11-25T07:05:00.000Z air_press=987.2 air_temp=3.4 batt_v=12.841',
    ]);
    expect(codesOf(text)).toEqual(['zone-assumed']);
  });

  it('with a byte order mark, quotes, tabs, and a zone in a comment', () => {
    const text =
      '\ufeff# timezone: Europe/Berlin\n"when"\t"solar W"\t"SoC"\n"2026-07-03 07:00:00"\t"3.2"\t"64"\n"2026-07-03 07:05:00"\t"3.1"\t"64"\n';
    expect(rows(text)).toEqual([
      '2026-07-03T05:00:00.000Z charge=64 panel_w=3.2',
      '2026-07-03T05:05:00.000Z charge=64 panel_w=3.1',
    ]);
    expect(codesOf(text)).toEqual([]);
  });

  it('without headings asks what the columns are, and takes the answer', () => {
    const text = '1764054000 12.84 64\n1764054030 12.83 64\n1764054060 12.83 65\n';
    const { doubts } = readCardText(text);
    expect(doubts.map(({ code, blocking }) => [code, blocking])).toEqual([['no-metric', true]]);
    // 1764054000 s is 2025-11-25 07:00 UTC (date -u -d @1764054000, GNU coreutils).
    expect(
      rows(text, {
        columns: [{ heading: 'column 2', use: { kind: 'metric', metric: 'batt_v', unit: 'V' } }],
      })[0],
    ).toBe('2025-11-25T07:00:00.000Z batt_v=12.84');
  });

  it('with a line of units under the headings', () => {
    const text =
      'Time;Battery;Air temp\n;V;°F\n2026-11-25 07:00:00Z;12.1;50\n2026-11-25 07:01:00Z;12.1;32\n';
    expect(rows(text)).toEqual([
      '2026-11-25T07:00:00.000Z air_temp=10 batt_v=12.1',
      '2026-11-25T07:01:00.000Z air_temp=0 batt_v=12.1',
    ]);
  });

  it.each([
    ['Unix seconds', '1764054000'],
    ['Unix milliseconds', '1764054000000'],
    ['an offset', '2025-11-25T09:00:00+02:00'],
    ['another offset', '2025-11-25 02:00:00-0500'],
    ['digits only', '20251125070000Z'],
    ['the month by its name', '25-Nov-2025 07:00:00 UTC'],
    ['a half day', '25/11/2025 07:00:00 am Z'],
  ])('dated by %s', (_how, time) => {
    expect(rows(`timestamp,batt_v\n${time},12.8\n${time},12.8\n`)[0]).toBe(
      '2025-11-25T07:00:00.000Z batt_v=12.8',
    );
  });
});

describe('what is not there', () => {
  it('is never a nought: empty, NaN, a word, a code', () => {
    const text =
      'time,batt_v,air_temp,signal\n2026-11-25T07:00:00Z,0,NaN,-99\n2026-11-25T07:01:00Z,,-999,n/a\n2026-11-25T07:02:00Z,12.8,0,-\n';
    expect(rows(text)).toEqual([
      '2026-11-25T07:00:00.000Z signal=-99',
      '2026-11-25T07:02:00.000Z air_temp=0 batt_v=12.8',
    ]);
    expect(codesOf(text)).toEqual(['missing-code', 'missing-code']);
    expect(rows(text, { realCodes: [0] })[0]).toBe('2026-11-25T07:00:00.000Z batt_v=0 signal=-99');
  });

  it('is said of lines cut off by a power failure, and of times of an unset clock', () => {
    const text =
      'time,batt_v,charge\n1970-01-01T00:00:09Z,12.8,64\n2026-11-25T07:00:00Z,12.8,64\n2026-11-25T07:0\n2031-01-01T00:00:00Z,12.8,64\n';
    const { samples, doubts } = readCardText(text);
    expect(samples.map(said)).toEqual(['2026-11-25T07:00:00.000Z batt_v=12.8 charge=64']);
    expect(doubts.map(({ code, examples }) => [code, examples[0]?.line])).toEqual([
      ['lines-unreadable', 4],
      ['clock-unset', 2],
      ['in-future', 5],
    ]);
  });
});

describe('units', () => {
  it('are guessed from the size of the numbers where none is named, and that is said', () => {
    const text = 'time,batt_v\n2026-11-25T07:00:00Z,12840\n2026-11-25T07:01:00Z,12830\n';
    expect(rows(text)[0]).toBe('2026-11-25T07:00:00.000Z batt_v=12.84');
    expect(codesOf(text)).toEqual(['column']);
  });

  it('raise a doubt where a charge never exceeds 1', () => {
    const text = 'time,soc\n2026-11-25T07:00:00Z,0.64\n2026-11-25T07:01:00Z,0.63\n';
    expect(codesOf(text)).toEqual(['column']);
    const use = { kind: 'metric', metric: 'charge', unit: 'ratio 0–1' } as const;
    expect(rows(text, { columns: [{ heading: 'soc', use }] })[0]).toBe(
      '2026-11-25T07:00:00.000Z charge=64',
    );
  });

  // 1 kn = 1852 m/h exactly; 1 in = 25.4 mm exactly (SI Brochure, 9th ed.; NIST SP 811, app. B; from memory).
  it.each([
    ['wind speed (kn)', '10', 'wind_speed=5.144444444444'],
    ['wind speed [km/h]', '36', 'wind_speed=10'],
    ['rain, in', '1', 'rain=25.4'],
    ['panel (mA)', '410', 'panel_i=0.41'],
    ['pressure_pa', '98710', 'air_press=987.1'],
  ])('of “%s” become the stored ones', (heading, cell, reading) => {
    const text = `time;${heading}\n2026-11-25T07:00:00Z;${cell}\n2026-11-25T07:01:00Z;${cell}\n`;
    expect(rows(text)[0]).toMatch(new RegExp(` ${reading.replace('.', '\\.')}`));
  });
});

// Clocks in Great Britain: forward on 29 March 2026 at 01:00 UTC, back on 25 October 2026 at 01:00 UTC
// (Summer Time Order 2002: last Sundays of March and October, 01:00 GMT).
describe('local time', () => {
  const log = (...times: readonly string[]) =>
    ['time,batt_v', ...times.map((time) => `${time},12.8`)].join('\n');
  const timesOf = (text: string, settings = {}) =>
    readCardText(text, settings).samples.map(
      ({ observedAtMs, timeQuality }) =>
        `${new Date(observedAtMs).toISOString().slice(5, 16)} ${timeQuality}`,
    );

  it('that goes on through the hour that comes twice settles it itself', () => {
    const text = log(
      '2026-10-25 00:30',
      '2026-10-25 01:00',
      '2026-10-25 01:30',
      '2026-10-25 01:00',
      '2026-10-25 01:30',
      '2026-10-25 02:00',
    );
    expect(timesOf(text)).toEqual(
      [
        '10-24T23:30',
        '10-25T00:00',
        '10-25T00:30',
        '10-25T01:00',
        '10-25T01:30',
        '10-25T02:00',
      ].map((time) => `${time} synced`),
    );
    expect(codesOf(text)).toEqual(['zone-assumed']);
  });

  it('in that hour alone is unsure until somebody says which', () => {
    const text = log('2026-10-25 01:10', '2026-10-25 01:20');
    expect(timesOf(text)).toEqual(['10-25T00:10 unsure', '10-25T00:20 unsure']);
    expect(codesOf(text)).toEqual(['zone-assumed', 'hour-twice']);
    expect(timesOf(text, { repeatedHour: 'second' })).toEqual([
      '10-25T01:10 synced',
      '10-25T01:20 synced',
    ]);
  });

  it('in the hour that never was is unsure, and points at the clock', () => {
    const text = log('2026-03-29 00:30', '2026-03-29 01:30', '2026-03-29 02:30');
    expect(timesOf(text)).toEqual([
      '03-29T00:30 synced',
      '03-29T01:30 unsure',
      '03-29T01:30 synced',
    ]);
    expect(codesOf(text)).toContain('hour-skipped');
    expect(timesOf(text, { zone: 'UTC' })).toEqual([
      '03-29T00:30 synced',
      '03-29T01:30 synced',
      '03-29T02:30 synced',
    ]);
  });

  it('is asked about where no date tells day from month', () => {
    expect(codesOf(log('03/04/2026 07:00', '03/04/2026 07:05'))).toContain('date-order-open');
    expect(codesOf(log('25/04/2026 07:00', '03/05/2026 07:05'))).not.toContain('date-order-open');
    expect(timesOf(log('03/04/2026 07:00'), { dateOrder: 'month-first' })).toEqual([
      '03-04T07:00 synced',
    ]);
  });
});
