import { describe, expect, it } from 'vitest';
import { parseNodeConfig, type NodeConfig } from './node-config.ts';
import { namesMissingIn, parseLine } from './parse-line.ts';

const json = {
  node: 'withy-weir-1',
  broker: 'mqtt://127.0.0.1:1883',
  secretFile: 'secret',
  stateDir: 'state',
  log: {
    path: 'readings.csv',
    separator: ',',
    header: false,
    time: { column: 1, format: 'iso' },
    columns: [
      { column: 2, metric: 'batt_v', unit: 'V' },
      { column: 3, metric: 'panel_i', unit: 'mA' },
    ],
  },
};
function configOf(log: object): NodeConfig['log'] {
  const parsed = parseNodeConfig({ ...json, log: { ...json.log, ...log } }, '/srv');
  if (!parsed.ok) throw new Error(parsed.fault.join(' '));
  return parsed.value.log;
}

describe('a line of the log', () => {
  it('is read by column number, units as the log has them', () => {
    const line = parseLine('2026-11-25T07:00:00Z,13.21,412', configOf({}), []);
    expect(line).toEqual({
      ok: true,
      value: {
        observedAtMs: Date.UTC(2026, 10, 25, 7),
        values: [
          { metric: 'batt_v', unit: 'V', value: 13.21 },
          { metric: 'panel_i', unit: 'mA', value: 412 },
        ],
      },
    });
  });

  it('is read by name where there is a header, and by any run of blanks', () => {
    const log = configOf({
      separator: 'whitespace',
      header: true,
      time: { column: 'when', format: 'unix' },
      columns: [{ column: 'volts', metric: 'batt_v', unit: 'V' }],
    });
    const line = parseLine('1795590000.5   x  12.9', log, ['when', 'note', 'volts']);
    expect(line).toEqual({
      ok: true,
      value: {
        observedAtMs: 1_795_590_000_500,
        values: [{ metric: 'batt_v', unit: 'V', value: 12.9 }],
      },
    });
  });

  it('takes an empty field for no reading, never for zero', () => {
    const line = parseLine('2026-11-25T07:00:00+01:00,,412', configOf({}), []);
    expect(line.ok && line.value.values.map(({ metric }) => metric)).toEqual(['panel_i']);
  });

  it('takes what loggers write for a dead sensor for no reading, and keeps its neighbours', () => {
    for (const nothing of ['nan', 'NaN', 'NA', '-', 'null']) {
      const line = parseLine(`2026-11-25T07:00:00Z,${nothing},412`, configOf({}), []);
      expect(line.ok && line.value.values.map(({ metric }) => metric)).toEqual(['panel_i']);
    }
  });

  it('reads decimal commas where the configuration says so', () => {
    const log = configOf({ separator: ';', decimal: ',' });
    const line = parseLine('2026-11-25T07:00:00Z;13,21;412', log, []);
    expect(line.ok && line.value.values.map(({ value }) => value)).toEqual([13.21, 412]);
  });

  it('reads a code by its word or its number', () => {
    const log = configOf({ columns: [{ column: 2, metric: 'charge_stage' }] });
    for (const [text, value] of [
      ['Float', 'float'],
      ['3', 3],
    ] as const) {
      const line = parseLine(`2026-11-25T07:00:00Z,${text}`, log, []);
      expect(line.ok && line.value.values[0]?.value).toBe(value);
    }
  });

  it('does not give the readings of one line the time of another when a power cut ran them together', () => {
    const log = configOf({ header: true });
    const header = ['time', 'volts', 'mA'];
    const line = parseLine('2026-11-25T07:00:00Z,13.2,2026-11-25T07:00:30Z,13.1,412', log, header);
    expect(line.ok ? '' : line.fault).toContain('5 fields, but the header has 3');
  });

  it('knows which names of the configuration the header lacks', () => {
    const log = configOf({ header: true, time: { column: 'when', format: 'iso' } });
    expect(namesMissingIn(['time', 'volts'], log)).toEqual(['when']);
    expect(namesMissingIn(['when', 'volts'], log)).toEqual([]);
  });

  it.each([
    ['2026-11-25T07:00:00Z,0x10,1', 'column 2 (batt_v) is "0x10"'],
    ['2026-11-25T07:00:00Z,Infinity,1', 'column 2 (batt_v) is "Infinity"'],
    ['2026-11-25T25:00:00Z,13.2,1', 'is not an ISO time'],
    ['2026-11-25 07:00,13.2,1', 'is not an ISO time'],
    ['2026-11-25T07:00:00Z,13v,1', 'column 2 (batt_v) is "13v"'],
    ['2026-11-25T07:00:00Z,,', 'no readings'],
    [',13.2,1', 'no time in column 1'],
  ])('says what is wrong with %s', (text, words) => {
    const line = parseLine(text, configOf({}), []);
    expect(line.ok ? '' : line.fault).toContain(words);
  });
});
