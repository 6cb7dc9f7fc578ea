import { describe, expect, it } from 'vitest';
import { parseNodeConfig, type NodeConfig } from './node-config.ts';
import { parseLine } from './parse-line.ts';

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
  const parsed = parseNodeConfig({ ...json, log: { ...json.log, ...log } });
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

  it.each([
    ['2026-11-25 07:00,13.2,1', 'is not an ISO time'],
    ['2026-11-25T07:00:00Z,13v,1', 'column 2 (batt_v) is "13v"'],
    ['2026-11-25T07:00:00Z,,', 'no readings'],
    [',13.2,1', 'no time in column 1'],
  ])('says what is wrong with %s', (text, words) => {
    const line = parseLine(text, configOf({}), []);
    expect(line.ok ? '' : line.fault).toContain(words);
  });
});

describe('the configuration', () => {
  it('names every fault at once, with how to mend it', () => {
    const parsed = parseNodeConfig({
      node: 'Withy Weir',
      broker: 'example.org',
      log: {
        path: 'x',
        time: { column: 'when', format: 'local' },
        columns: [{ column: 2, metric: 'volts' }],
      },
    });
    const said = parsed.ok ? '' : parsed.fault.join('\n');
    for (const words of [
      'a node name has 3 to 40',
      'starts with mqtt://',
      '"log.header" is not true',
      'is one of "unix"',
      'the metric catalogue does not have',
      '"secretFile" is missing',
      '"stateDir" is missing',
    ])
      expect(said).toContain(words);
  });
});
