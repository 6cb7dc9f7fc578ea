import { DAY_MS, HOUR_MS } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { parseOutsideFile } from './parse-outside-file.ts';

const head = '# source: valley office\n# issued: 2026-11-25T06:00:00Z\n';
const fault = (text: string) => {
  const read = parseOutsideFile(text);
  return read.ok ? 'read' : `${'pointer' in read.fault ? read.fault.pointer : ''}`;
};

describe('the small file of a forecast', () => {
  it('is read with its gaps, its step and its members', () => {
    const read = parseOutsideFile(
      `${head}time_utc,ghi_wm2.1,ghi_wm2.2,air_c.1\n2026-11-25T07:00Z,10,12,3.5\n2026-11-25 08:00,,30,\n`,
    );
    expect(read).toEqual({
      ok: true,
      value: {
        source: 'valley office',
        issuedAtMs: Date.UTC(2026, 10, 25, 6),
        startMs: Date.UTC(2026, 10, 25, 7),
        stepMs: HOUR_MS,
        members: [{ ghiWm2: [10, null], airC: [3.5, null] }, { ghiWm2: [12, 30] }],
      },
    });
    const daily = parseOutsideFile(`${head}time_utc,cloud\n2026-11-25,0.5\n2026-11-26,1\n`);
    expect(daily.ok && daily.value.stepMs).toBe(DAY_MS);
  });

  it('is refused with the place that is wrong', () => {
    const table = (rows: string) => fault(`${head}time_utc,cloud\n${rows}`);
    expect(fault('time_utc,cloud\n')).toBe('line 1');
    expect(fault('# source: a\ntime_utc,cloud\n')).toBe('line 2');
    expect(fault(`${head}when,cloud\n`)).toBe('the first column');
    expect(fault(`${head}time_utc,wind\n`)).toBe('column wind');
    expect(table('2026-11-25T07:00Z,0.5\n2026-11-25T08:00Z,50\n')).toBe('line 5');
    expect(table('2026-11-25T07:00Z,0.5\n2026-11-25T08:00Z,0.5\n2026-11-25T10:00Z,0\n')).toBe(
      'line 6',
    );
    expect(table('2026-11-25T07:00Z,0.5\n2026-11-25T10:00Z,0.5\n')).toBe('its step');
    expect(fault(`${head}time_utc,air_c\n2026-11-25,1\n2026-11-26,1\n`)).toBe('the table');
  });
});
