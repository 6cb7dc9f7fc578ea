import { describe, expect, it } from 'vitest';
import { readFileSync } from 'node:fs';
import { parseNodeConfig } from './node-config.ts';

const good = {
  node: 'withy-weir-1',
  broker: 'mqtt://127.0.0.1:1883',
  secretFile: 'secret',
  stateDir: '/var/lib/duskline-node',
  log: {
    path: 'readings.csv',
    time: { column: 1, format: 'iso' },
    columns: [{ column: 2, metric: 'batt_v', unit: 'V' }],
  },
};
const faultsOf = (json: unknown): string => {
  const parsed = parseNodeConfig(json, '/etc/duskline');
  return parsed.ok ? '' : parsed.fault.join('\n');
};

describe('the configuration', () => {
  it('takes relative paths from its own folder, wherever the program is started', () => {
    const parsed = parseNodeConfig(good, '/etc/duskline');
    expect(parsed.ok && parsed.value).toMatchObject({
      secretFile: '/etc/duskline/secret',
      stateDir: '/var/lib/duskline-node',
      log: { path: '/etc/duskline/readings.csv', separator: ',', decimal: '.', header: false },
    });
  });

  it('names every fault at once, with how to mend it', () => {
    const said = faultsOf({
      node: 'Withy Weir',
      broker: 'example.org',
      log: {
        path: 'x',
        time: { column: 'when', format: 'local' },
        columns: [{ column: 2, metric: 'volts' }],
      },
    });
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

  it.each([
    ['a unit that is none', [{ column: 2, metric: 'batt_v', unit: 'volt' }], 'no SenML unit'],
    ['a unit of something else', [{ column: 2, metric: 'batt_v', unit: 'A' }], 'V is expected'],
    ['a quantity without a unit', [{ column: 2, metric: 'batt_v' }], 'has no unit'],
    // RFC 8428, section 12.1: %EL is battery level in percent, % a ratio; "use of % is not recommended".
    ['percent of charge as %', [{ column: 2, metric: 'charge', unit: '%' }], '%EL'],
    [
      'a metric twice',
      [
        { column: 2, metric: 'batt_v', unit: 'V' },
        { column: 3, metric: 'batt_v', unit: 'mV' },
      ],
      'batt_v twice',
    ],
    ['the number of a message', [{ column: 2, metric: 'seq' }], 'given by this program'],
  ])('refuses %s at the desk, not in the quarantine', (_what, columns, words) => {
    expect(faultsOf({ ...good, log: { ...good.log, columns } })).toContain(words);
  });

  it.each([
    { column: 2, metric: 'panel_i', unit: 'mA' },
    { column: 2, metric: 'charge', unit: '%EL' },
    { column: 2, metric: 'charge_stage' },
    { column: 2, metric: 'image_n' },
    { column: 2, metric: 'air_temp', unit: 'K' },
  ])('takes $metric in $unit', (column) => {
    expect(faultsOf({ ...good, log: { ...good.log, columns: [column] } })).toBe('');
  });

  it('finds a misspelt key', () => {
    expect(faultsOf({ ...good, farwell: 'x' })).toContain('"farwell", which is not known');
  });

  it('takes the example that builders are given', () => {
    const example = readFileSync(new URL('../example/node.json', import.meta.url), 'utf8');
    expect(faultsOf(JSON.parse(example))).toBe('');
  });
});
