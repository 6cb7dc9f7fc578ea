import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { failed, metricCatalogue, type Packet } from '@duskline/domain';
import { decodeMessage, type DecodedMessage } from './decode-message.ts';
import { faultCodes } from './faults.ts';
import { isUnit } from './units.ts';

const inflate = () => failed('corrupt' as const);
const packet = (payload: string, topic = 'v1/rushy-sluice/up/live'): Packet => ({
  topic,
  payload: new TextEncoder().encode(payload),
  receivedAtMs: 0,
});
const decode = (pack: unknown, topic?: string) =>
  decodeMessage(packet(typeof pack === 'string' ? pack : JSON.stringify(pack), topic), { inflate });
const accepted = (pack: unknown, topic?: string): DecodedMessage => {
  const decoded = decode(pack, topic);
  if (!decoded.ok) throw new Error(decoded.fault.reason);
  return decoded.value;
};
const faultOf = (pack: unknown, topic?: string) => {
  const decoded = decode(pack, topic);
  if (decoded.ok) throw new Error('was accepted');
  return decoded.fault;
};
/** [metric, value] */
const values = (pack: unknown, topic?: string) =>
  accepted(pack, topic).readings.map(({ metric, value }) => [metric, value]);

const state = 'v1/rushy-sluice/up/state';

describe('the metric catalogue', () => {
  it('names its stored units as SenML does', () => {
    for (const [key, entry] of Object.entries(metricCatalogue)) {
      if (entry.senml !== undefined) expect([key, isUnit(entry.senml)]).toEqual([key, true]);
    }
  });
});

describe('decoding a message', () => {
  it('takes a reading sent by hand', () => {
    expect(accepted('[{"n":"batt_v","u":"V","v":12.61}]')).toEqual({
      node: 'rushy-sluice',
      kind: 'live',
      readings: [{ record: 0, metric: 'batt_v', value: 12.61, timeS: 0 }],
    });
  });

  it.each([
    '',
    'rushy-sluice_',
    'rushy-sluice:',
    'rushy-sluice/',
    'urn:dev:mac:0024befffe804ff1_',
    'urn:dev:ow:10e2073a01080063:',
    'urn:dev:org:32473-moor_',
  ])('finds the metric behind the base name %j', (bn) => {
    expect(values([{ bn, n: 'batt_v', u: 'V', v: 12.6 }])).toEqual([['batt_v', 12.6]]);
  });

  it('does not take a reading that is named after another node', () => {
    const fault = faultOf([{ n: 'tarn-gill_batt_v', u: 'V', v: 12.6 }]);
    expect(fault.code).toBe('name-of-another-node');
    expect(fault.reason).toContain('rushy-sluice_batt_v');
  });

  it.each([
    ['bat_v', 'batt_v'],
    ['BATT_V', 'batt_v'],
    ['air_temperature', undefined],
    ['airtemp', 'air_temp'],
    ['rushy-sluice_pannel_w', 'panel_w'],
    ['hasOwnProperty', undefined],
    ['constructor', undefined],
  ])('names the metric nearest to %s', (n, nearest) => {
    const fault = faultOf([{ n, u: 'V', v: 1 }]);
    expect(fault.code).toBe('metric-unknown');
    expect(fault.reason).toContain(
      nearest === undefined ? 'catalogue' : `did you mean ${nearest}?`,
    );
  });

  it('stores every metric in its one unit', () => {
    expect(
      values([
        { n: 'batt_v', u: 'mV', v: 12_610 },
        { n: 'load_i', u: 'mA', v: 153 },
        { n: 'energy_usable', u: 'J', v: 36_000 },
        { n: 'capacity_est', u: 'C', v: 72_000 },
        { n: 'air_press', u: 'Pa', v: 98_760 },
        { n: 'air_temp', u: 'K', v: 273.15 },
        { n: 'rain', u: 'm', v: 0.0002 },
        { n: 'signal', u: 'dBW', v: -120 },
        { n: 'wind_speed', u: 'km/h', v: 36 },
        { n: 'disk_free', u: 'GB', v: 12 },
        { n: 'interval', u: 'min', v: 5 },
        { n: 'soil_moist', u: '/', v: 0.34 },
        { n: 'charge', u: '%EL', v: 81 },
        { n: 'rel_hum', u: '%RH', v: 97 },
      ]),
    ).toEqual([
      ['batt_v', 12.61],
      ['load_i', 0.153],
      ['energy_usable', 10],
      ['capacity_est', 20],
      ['air_press', 987.6],
      ['air_temp', 0],
      ['rain', 0.2],
      ['signal', -90],
      ['wind_speed', 10],
      ['disk_free', 12e9],
      ['interval', 300],
      ['soil_moist', 34],
      ['charge', 81],
      ['rel_hum', 97],
    ]);
  });

  it.each([
    ['charge', '%', 81, 'unit-wrong', '%EL'],
    ['charge', 'EL', 81, 'unit-wrong', '%EL'],
    ['charge', '%RH', 81, 'unit-wrong', '%EL'],
    ['rel_hum', '%', 0.97, 'unit-wrong', '%RH'],
    ['air_temp', 'C', 11.5, 'unit-wrong', 'Cel'],
    ['air_temp', 'F', 52.7, 'unit-wrong', 'Cel'],
    ['air_temp', '°F', 52.7, 'unit-unknown', 'Cel'],
    ['batt_v', 'A', 12.6, 'unit-wrong', 'mV'],
    ['batt_v', 'volts', 12.6, 'unit-unknown', '"u":"V"'],
    ['batt_v', undefined, 12.6, 'unit-missing', '"u":"V"'],
    ['soil_moist', '%', 34, 'unit-ambiguous', '/100'],
  ])('refuses %s in %s and says how to mend it', (n, u, v, code, mend) => {
    const fault = faultOf([{ n, u, v }]);
    expect(fault.code).toBe(code);
    expect(fault.reason).toContain(n);
    expect(fault.reason).toContain(mend);
  });

  it('applies a base unit to counts as the RFC has it', () => {
    const pack = [
      { bu: 'V', n: 'batt_v', v: 12.6 },
      { n: 'backlog', v: 3 },
    ];
    expect(faultOf(pack).code).toBe('unit-wrong');
    expect(values([pack[0], { n: 'backlog', u: 'count', v: 3 }])).toContainEqual(['backlog', 3]);
  });

  it('takes counts without a unit', () => {
    expect(values([{ n: 'backlog', v: 3 }])).toEqual([['backlog', 3]]);
  });

  it('turns flags and words into the codes of the catalogue', () => {
    expect(
      values([
        { bu: 'V', n: 'fs_ro', vb: true },
        { n: 'box_open', vb: false },
        { n: 'charge_stage', vs: 'float' },
        { n: 'clock_src', vs: 'Battery clock' },
        { bu: '/', n: 'tilt_move', v: 1 },
        { n: 'charge_stage', v: 2, t: -30 },
        { n: 'box_open', vs: 'yes', t: -30 },
      ]),
    ).toEqual([
      ['fs_ro', 1],
      ['box_open', 0],
      ['charge_stage', 3],
      ['clock_src', 3],
      ['tilt_move', 1],
      ['charge_stage', 2],
      ['box_open', 1],
    ]);
  });

  it.each([
    [{ n: 'charge_stage', vs: 'boost' }, 'code-unknown', 'night, bulk, taper, float, blocked'],
    [{ n: 'charge_stage', v: 5 }, 'code-unknown', '4 blocked'],
    [{ n: 'charge_stage', v: 1.5 }, 'code-unknown', '1 bulk'],
    [{ n: 'charge_stage', vb: true }, 'value-kind-wrong', 'vs'],
    [{ n: 'charge_stage', u: 'V', v: 1 }, 'unit-wrong', 'no unit'],
    [{ n: 'batt_v', u: 'V', vs: '12.6' }, 'value-kind-wrong', 'number in V'],
    [{ n: 'batt_v', u: 'V', vb: true }, 'value-kind-wrong', 'number in V'],
    [{ n: 'batt_v', u: 'V', vd: 'AAAA' }, 'value-kind-wrong', 'number in V'],
    [{ n: 'batt_v', u: 'V', s: 12 }, 'value-missing', 'sum'],
    [{ n: 'batt_v', u: 'V', v: 1e300 }, 'value-out-of-bounds', 'larger'],
  ])('refuses %j: %s', (record, code, words) => {
    const fault = faultOf([record]);
    expect(fault.code).toBe(code);
    expect(fault.reason).toContain(words);
  });

  it('reads boot and seq as the place of the message, not as readings', () => {
    const message = accepted([
      { n: 'boot', u: 'count', v: 7 },
      { n: 'seq', u: 'count', v: 41 },
      { n: 'uptime', u: 's', v: 3600 },
      { n: 'batt_v', u: 'V', v: 12.6 },
    ]);
    expect(message.place).toEqual({ boot: 7, seq: 41 });
    expect(message.anchor).toEqual({ uptimeS: 3600, timeS: 0 });
    expect(message.readings.map(({ metric }) => metric)).toEqual(['uptime', 'batt_v']);
  });

  it.each([
    [{ n: 'seq', v: 0 }, 'place-invalid'],
    [{ n: 'seq', v: 1.5 }, 'place-invalid'],
    [{ n: 'seq', v: 2 ** 31 }, 'place-invalid'],
    [{ n: 'boot', v: -1 }, 'place-invalid'],
    [{ n: 'seq', v: 41 }, 'place-incomplete'],
    [{ n: 'boot', v: 7 }, 'place-incomplete'],
  ])('refuses the place %j: %s', (record, code) => {
    expect(faultOf([record, { n: 'batt_v', u: 'V', v: 12.6 }]).code).toBe(code);
  });

  it('has one place in a message', () => {
    const place = [
      { n: 'boot', v: 7 },
      { n: 'seq', v: 41 },
      { n: 'batt_v', u: 'V', v: 12.6 },
    ];
    expect(accepted([...place, { n: 'boot', v: 7 }]).place).toEqual({ boot: 7, seq: 41 });
    expect(faultOf([...place, { n: 'seq', v: 42 }]).code).toBe('place-doubled');
  });

  it('wants at least one reading', () => {
    expect(faultOf([{ bn: 'rushy-sluice_' }]).code).toBe('readings-missing');
    expect(
      faultOf([
        { n: 'boot', v: 7 },
        { n: 'seq', v: 1 },
      ]).code,
    ).toBe('readings-missing');
  });

  it('reads what a node says of itself', () => {
    expect(accepted([{ n: 'hello', vb: true }], state)).toMatchObject({
      kind: 'state',
      word: { kind: 'hello', timeS: 0 },
    });
    expect(accepted([{ n: 'farewell', vs: ' charge low ' }], state).word).toEqual({
      kind: 'farewell',
      timeS: 0,
      reason: 'charge low',
    });
  });

  it('keeps no readings and no place of a will: they are as old as the connection', () => {
    const will = [
      { n: 'dropped', vb: true },
      { n: 'charge', u: '%EL', v: 80 },
      { n: 'boot', v: 7 },
      { n: 'seq', v: 1 },
    ];
    expect(accepted(will, state)).toEqual({
      node: 'rushy-sluice',
      kind: 'state',
      readings: [],
      word: { kind: 'dropped', timeS: 0 },
    });
  });

  it.each([
    [[{ n: 'hello', vb: false }], state, 'value-kind-wrong'],
    [[{ n: 'hello', v: 1 }], state, 'value-kind-wrong'],
    [[{ n: 'farewell', vb: true }], state, 'value-kind-wrong'],
    [[{ n: 'farewell', vs: ' ' }], state, 'value-kind-wrong'],
    [[{ n: 'farewell', vs: 'x'.repeat(201) }], state, 'value-kind-wrong'],
    [
      [
        { n: 'hello', vb: true },
        { n: 'dropped', vb: true },
      ],
      state,
      'word-doubled',
    ],
    [[{ n: 'charge', u: '%EL', v: 80 }], state, 'word-missing'],
    [[{ n: 'hello', vb: true }], 'v1/rushy-sluice/up/live', 'word-misplaced'],
  ])('refuses %j on %s: %s', (pack, topic, code) => {
    expect(faultOf(pack, topic).code).toBe(code);
  });

  it('refuses topics that are not its own', () => {
    expect(faultOf('[]', 'v1/rushy-sluice/down/ack').code).toBe('topic-unknown');
  });

  it('answers every message with readings or a fault of the catalogue that any database can keep', () => {
    const records = fc.array(
      fc.record(
        {
          bn: fc.oneof(fc.constantFrom('rushy-sluice_', 'urn:dev:mac:00_'), fc.string()),
          bt: fc.oneof(fc.double(), fc.constantFrom(1.79e9, 0)),
          n: fc.oneof(
            fc.constantFrom(...Object.keys(metricCatalogue), 'hello', 'farewell'),
            fc.string({ unit: 'binary' }),
          ),
          u: fc.oneof(fc.constantFrom('V', 'mV', '%', '%EL', 's', 'count'), fc.string()),
          v: fc.oneof(fc.double(), fc.integer({ min: 0, max: 50 })),
          vs: fc.string({ unit: 'binary' }),
          vb: fc.boolean(),
          t: fc.double(),
        },
        { requiredKeys: [] },
      ),
      { maxLength: 6 },
    );
    fc.assert(
      fc.property(records, fc.constantFrom('live', 'backlog', 'state'), (pack, kind) => {
        const decoded = decode(pack, `v1/rushy-sluice/up/${kind}`);
        if (decoded.ok) {
          expect(decoded.value.readings.every(({ value }) => Number.isFinite(value))).toBe(true);
        } else {
          expect(faultCodes).toContain(decoded.fault.code);
          expect(decoded.fault.reason).not.toMatch(/[\p{Cc}\p{Cs}]/u);
          expect(decoded.fault.reason.length).toBeLessThan(400);
        }
      }),
      { seed: 20_261_125, numRuns: 2000 },
    );
  });
});
