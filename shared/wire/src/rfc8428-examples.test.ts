/**
 * Every example of RFC 8428 in JSON and CBOR, as input and, where the RFC prints it, as outcome.
 *
 * Source: RFC 8428, August 2018, sections 5.1.1–5.1.7 and 6. The JSON texts were compared with public transcriptions of those
 * sections, the CBOR bytes with three; the section numbers of the unnumbered second examples are those of their section. Expected values not printed in
 * the RFC are worked out by hand from its rules in section 4.
 */
import { describe, expect, it } from 'vitest';
import { resolvePack, type ResolvedRecord } from './resolve-pack.ts';
import { decodeSenmlCbor, encodeSenmlCbor } from './senml-cbor.ts';
import { decodeSenmlJson, encodeSenmlJson } from './senml-json.ts';

const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);

function resolveJson(text: string): readonly ResolvedRecord[] {
  const decoded = decodeSenmlJson(bytes(text));
  if (!decoded.ok) throw new Error(decoded.fault.reason);
  const resolved = resolvePack(decoded.value);
  if (!resolved.ok) throw new Error(resolved.fault.reason);
  return resolved.value;
}

/** [name, unit, value, time] */
const rows = (text: string) =>
  resolveJson(text).map(({ name, unit, value, timeS }) => [name, unit, value, timeS]);

const voltageAndCurrent = `[
  {"bn":"urn:dev:ow:10e2073a0108006:","bt":1.276020076001e+09,
   "bu":"A","bver":5,
   "n":"voltage","u":"V","v":120.1},
  {"n":"current","t":-5,"v":1.2},
  {"n":"current","t":-4,"v":1.3},
  {"n":"current","t":-3,"v":1.4},
  {"n":"current","t":-2,"v":1.5},
  {"n":"current","t":-1,"v":1.6},
  {"n":"current","v":1.7}
]`;

const humidityOnTheMove = `[
  {"bn":"urn:dev:ow:10e2073a01080063","bt":1.320067464e+09,
   "bu":"%RH","v":20},
  {"u":"lon","v":24.30621},
  {"u":"lat","v":60.07965},
  {"t":60,"v":20.3},
  {"u":"lon","t":60,"v":24.30622},
  {"u":"lat","t":60,"v":60.07965},
  {"t":120,"v":20.7},
  {"u":"lon","t":120,"v":24.30623},
  {"u":"lat","t":120,"v":60.07966},
  {"u":"%EL","t":150,"v":98},
  {"t":180,"v":21.2},
  {"u":"lon","t":180,"v":24.30628},
  {"u":"lat","t":180,"v":60.07967}
]`;

const humidityResolved = `[
  {"n":"urn:dev:ow:10e2073a01080063","u":"%RH","t":1.320067464e+09,"v":20},
  {"n":"urn:dev:ow:10e2073a01080063","u":"lon","t":1.320067464e+09,"v":24.30621},
  {"n":"urn:dev:ow:10e2073a01080063","u":"lat","t":1.320067464e+09,"v":60.07965},
  {"n":"urn:dev:ow:10e2073a01080063","u":"%RH","t":1.320067524e+09,"v":20.3},
  {"n":"urn:dev:ow:10e2073a01080063","u":"lon","t":1.320067524e+09,"v":24.30622},
  {"n":"urn:dev:ow:10e2073a01080063","u":"lat","t":1.320067524e+09,"v":60.07965},
  {"n":"urn:dev:ow:10e2073a01080063","u":"%RH","t":1.320067584e+09,"v":20.7},
  {"n":"urn:dev:ow:10e2073a01080063","u":"lon","t":1.320067584e+09,"v":24.30623},
  {"n":"urn:dev:ow:10e2073a01080063","u":"lat","t":1.320067584e+09,"v":60.07966},
  {"n":"urn:dev:ow:10e2073a01080063","u":"%EL","t":1.320067614e+09,"v":98},
  {"n":"urn:dev:ow:10e2073a01080063","u":"%RH","t":1.320067644e+09,"v":21.2},
  {"n":"urn:dev:ow:10e2073a01080063","u":"lon","t":1.320067644e+09,"v":24.30628},
  {"n":"urn:dev:ow:10e2073a01080063","u":"lat","t":1.320067644e+09,"v":60.07967}
]`;

/** RFC 8428 §6, the pack of §5.1.2 in CBOR. */
const voltageAndCurrentCbor =
  '87a721781b75726e3a6465763a6f773a3130653230373361303130383030363a22fb41d303a15b0010622361412005' +
  '0067766f6c7461676501615602fb405e066666666666a3006763757272656e74062402fb3ff3333333333333a30067' +
  '63757272656e74062302fb3ff4cccccccccccda3006763757272656e74062202fb3ff6666666666666a30067637572' +
  '72656e74062102f93e00a3006763757272656e74062002fb3ff999999999999aa3006763757272656e74060002fb3f' +
  'fb333333333333';

const fromHex = (hex: string): Uint8Array =>
  Uint8Array.from(hex.match(/../g) ?? [], (pair) => Number.parseInt(pair, 16));

describe('the examples of RFC 8428', () => {
  it('§5.1.1 reads a single data point taken now', () => {
    expect(rows('[{"n":"urn:dev:ow:10e2073a01080063","u":"Cel","v":23.1}]')).toEqual([
      ['urn:dev:ow:10e2073a01080063', 'Cel', 23.1, 0],
    ]);
  });

  it('§5.1.2 joins base name and name of voltage and current', () => {
    const text = `[
      {"bn":"urn:dev:ow:10e2073a01080063:","n":"voltage","u":"V","v":120.1},
      {"n":"current","u":"A","v":1.2}
    ]`;
    expect(rows(text)).toEqual([
      ['urn:dev:ow:10e2073a01080063:voltage', 'V', 120.1, 0],
      ['urn:dev:ow:10e2073a01080063:current', 'A', 1.2, 0],
    ]);
  });

  it('§5.1.2 counts the five seconds before the base time and keeps the base unit', () => {
    const name = 'urn:dev:ow:10e2073a0108006:current';
    const resolved = rows(voltageAndCurrent);
    expect(resolved[0]).toEqual(['urn:dev:ow:10e2073a0108006:voltage', 'V', 120.1, 1276020076.001]);
    expect(resolved.slice(1).map((row) => row.slice(0, 3))).toEqual(
      [1.2, 1.3, 1.4, 1.5, 1.6, 1.7].map((value) => [name, 'A', value]),
    );
    // The text above the example: Tue Jun 8 18:01:16.001 UTC 2010 and each of the five seconds before.
    const last = Date.UTC(2010, 5, 8, 18, 1, 16, 1);
    expect(resolved.slice(1).map(([, , , timeS]) => Math.round(Number(timeS) * 1000))).toEqual(
      [5, 4, 3, 2, 1, 0].map((ago) => last - ago * 1000),
    );
  });

  it('§5.1.2 reads what the stream example holds once it is closed', () => {
    const text = `[
      {"bn":"urn:dev:ow:10e2073a01080063","bt":1.320067464e+09,"bu":"%RH","v":21.2},
      {"t":10,"v":21.3},{"t":20,"v":21.4},{"t":30,"v":21.4},{"t":40,"v":21.5},
      {"t":50,"v":21.5},{"t":60,"v":21.5},{"t":70,"v":21.6},{"t":80,"v":21.7}
    ]`;
    expect(rows(text).map(([, unit, value, timeS]) => [unit, value, timeS])).toEqual([
      ['%RH', 21.2, 1320067464],
      ['%RH', 21.3, 1320067474],
      ['%RH', 21.4, 1320067484],
      ['%RH', 21.4, 1320067494],
      ['%RH', 21.5, 1320067504],
      ['%RH', 21.5, 1320067514],
      ['%RH', 21.5, 1320067524],
      ['%RH', 21.6, 1320067534],
      ['%RH', 21.7, 1320067544],
    ]);
  });

  it('§5.1.3 resolves to what §5.1.4 prints', () => {
    expect(rows(humidityOnTheMove)).toEqual(rows(humidityResolved));
    expect(rows(humidityOnTheMove)).toHaveLength(13);
  });

  it('§5.1.4 is resolved already and stays as it is', () => {
    const printed = JSON.parse(humidityResolved) as Record<string, unknown>[];
    expect(rows(humidityResolved)).toEqual(printed.map(({ n, u, v, t }) => [n, u, v, t]));
  });

  it('§5.1.5 reads a number, a text, a flag and bytes', () => {
    const text = `[
      {"bn":"urn:dev:ow:10e2073a01080063:","n":"temp","u":"Cel","v":23.1},
      {"n":"label","vs":"Machine Room"},
      {"n":"open","vb":false},
      {"n":"nfc-reader","vd":"aGkgCg"}
    ]`;
    // "aGkgCg" is base64 of "hi \n" (RFC 4648 §4, by hand).
    expect(resolveJson(text).map(({ value }) => value)).toEqual([
      23.1,
      'Machine Room',
      false,
      Uint8Array.of(0x68, 0x69, 0x20, 0x0a),
    ]);
  });

  it('§5.1.6 gives the last record the base name of the third and the base time of the first', () => {
    const text = `[
      {"bn":"2001:db8::2/","bt":1.320078429e+09,
       "n":"temperature","u":"Cel","v":25.2},
      {"n":"humidity","u":"%RH","v":30},
      {"bn":"2001:db8::1/","n":"temperature","u":"Cel","v":12.3},
      {"n":"humidity","u":"%RH","v":67}
    ]`;
    expect(rows(text)).toEqual([
      ['2001:db8::2/temperature', 'Cel', 25.2, 1320078429],
      ['2001:db8::2/humidity', '%RH', 30, 1320078429],
      ['2001:db8::1/temperature', 'Cel', 12.3, 1320078429],
      ['2001:db8::1/humidity', '%RH', 67, 1320078429],
    ]);
  });

  it('§5.1.7 takes a record of nothing but a base name as no reading', () => {
    const text = `[
      {"bn":"urn:dev:ow:10e2073a01080063:"},
      {"n":"temp","u":"Cel","v":23.1},
      {"n":"heat","u":"/","v":1},
      {"n":"fan","u":"/","v":0}
    ]`;
    expect(rows(text)).toEqual([
      ['urn:dev:ow:10e2073a01080063:temp', 'Cel', 23.1, 0],
      ['urn:dev:ow:10e2073a01080063:heat', '/', 1, 0],
      ['urn:dev:ow:10e2073a01080063:fan', '/', 0, 0],
    ]);
  });

  it('§5.1.7 switches two lights on at one base time', () => {
    const text = `[
      {"bt":1.320078429e+09,"bu":"/","n":"2001:db8::3","v":1},
      {"n":"2001:db8::4","v":1}
    ]`;
    expect(rows(text)).toEqual([
      ['2001:db8::3', '/', 1, 1320078429],
      ['2001:db8::4', '/', 1, 1320078429],
    ]);
  });

  it('§5.1.7 dims two lights and switches them off 100 ms later', () => {
    const text = `[
      {"bt":1.320078429e+09,"bu":"/","n":"2001:db8::3","v":0.5},
      {"n":"2001:db8::4","v":0.5},
      {"n":"2001:db8::3","t":0.1,"v":0},
      {"n":"2001:db8::4","t":0.1,"v":0}
    ]`;
    expect(rows(text).map(([, , value, timeS]) => [value, timeS])).toEqual([
      [0.5, 1320078429],
      [0.5, 1320078429],
      [0, 1320078429.1],
      [0, 1320078429.1],
    ]);
  });

  it('§6 decodes the CBOR dump to the records of §5.1.2', () => {
    const decoded = decodeSenmlCbor(fromHex(voltageAndCurrentCbor));
    const written = decodeSenmlJson(bytes(voltageAndCurrent));
    expect(decoded.ok && written.ok).toBe(true);
    if (!decoded.ok || !written.ok) return;
    // The dump spells out the t of 0 that the JSON text leaves out.
    expect(decoded.value.slice(0, 6)).toEqual(written.value.slice(0, 6));
    expect(decoded.value[6]).toEqual({ n: 'current', t: 0, v: 1.7 });
  });

  it('§6 encodes to the very bytes of the dump', () => {
    const decoded = decodeSenmlCbor(fromHex(voltageAndCurrentCbor));
    expect(decoded.ok && encodeSenmlCbor(decoded.value)).toEqual(fromHex(voltageAndCurrentCbor));
  });

  it('writes JSON with the labels in the order of §5.1.3', () => {
    const decoded = decodeSenmlJson(bytes(humidityOnTheMove));
    const text = decoded.ok ? new TextDecoder().decode(encodeSenmlJson(decoded.value)) : '';
    expect(text).toBe(
      humidityOnTheMove.replace(/\s/g, '').replaceAll('1.320067464e+09', '1320067464'),
    );
  });
});
