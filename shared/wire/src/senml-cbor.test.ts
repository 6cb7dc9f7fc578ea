import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { WireEncodeError } from './errors.ts';
import { decodeSenmlCbor, encodeSenmlCbor } from './senml-cbor.ts';

const fromHex = (hex: string): Uint8Array =>
  Uint8Array.from(hex.replaceAll(' ', '').match(/../g) ?? [], (pair) => Number.parseInt(pair, 16));
const codeOf = (hex: string): string => {
  const decoded = decodeSenmlCbor(fromHex(hex));
  return decoded.ok ? 'ok' : decoded.fault.code;
};
const recordsOf = (hex: string) => {
  const decoded = decodeSenmlCbor(fromHex(hex));
  if (!decoded.ok) throw new Error(decoded.fault.reason);
  return decoded.value;
};

/** The bytes below were put together by hand from RFC 8949 §3 and the labels of RFC 8428 §6. */
describe('SenML in CBOR', () => {
  it('never throws, whatever the bytes', () => {
    fc.assert(
      fc.property(
        fc.tuple(fc.integer({ min: 0x80, max: 0x9f }), fc.uint8Array({ maxLength: 200 })),
        ([head, tail]) => {
          expect(decodeSenmlCbor(Uint8Array.of(head, ...tail))).toHaveProperty('ok');
        },
      ),
      { seed: 20_261_125, numRuns: 2000 },
    );
  });

  it.each([
    ['80', 'pack-empty'],
    ['a0', 'pack-not-array'],
    ['01', 'pack-not-array'],
    ['81 01', 'record-not-object'],
    ['81 80', 'record-not-object'],
    ['', 'cbor-malformed'],
    ['81', 'cbor-malformed'],
    ['81 a2 00 61 61 02', 'cbor-malformed'],
    ['81 a2 00 61 61 02 01 00', 'cbor-malformed'],
    ['81 a2 00 61 61 02 1c', 'cbor-malformed'],
    ['81 a2 00 61 61 02 ff', 'cbor-malformed'],
    ['81 a2 00 7f 61 61 ff 02 01', 'cbor-malformed'],
    // Lengths far past the end
    ['9b ff ff ff ff ff ff ff ff', 'cbor-malformed'],
    ['81 a1 00 7b 7f ff ff ff ff ff ff ff', 'cbor-malformed'],
    // The label 2 twice
    ['81 a3 00 61 61 02 01 02 02', 'label-doubled'],
    // The label v both as 2 and as text
    ['81 a3 00 61 61 02 01 61 76 02', 'label-doubled'],
    // NaN, infinity as half floats
    ['81 a2 00 61 61 02 f9 7e00', 'number-not-finite'],
    ['81 a2 00 61 61 02 f9 7c00', 'number-not-finite'],
    ['81 a2 00 61 61 02 61 31', 'label-type-wrong'],
    ['81 a2 00 61 61 02 f6', 'label-type-wrong'],
    ['81 a2 00 61 61 08 61 31', 'label-type-wrong'],
    // "x_": 1
    ['81 a3 00 61 61 02 01 62 78 5f 01', 'label-must-understand'],
    // "__proto__": 1
    ['81 a3 00 61 61 02 01 69 5f5f70726f746f5f5f 01', 'label-must-understand'],
    // Text that is not UTF-8
    ['81 a2 00 61 61 03 61 ff', 'text-not-utf8'],
    // U+0000
    ['81 a2 00 61 61 03 61 00', 'text-broken'],
    // Unknown tag
    ['81 a2 00 61 61 02 c1 01', 'cbor-malformed'],
  ])('refuses %s: %s', (hex, code) => {
    expect(codeOf(hex)).toBe(code);
  });

  it('reads labels as numbers, and as text from simple encoders', () => {
    expect(recordsOf('81 a2 00 61 61 02 01')).toEqual([{ n: 'a', v: 1 }]);
    expect(recordsOf('81 a2 61 6e 61 61 61 76 01')).toEqual([{ n: 'a', v: 1 }]);
  });

  it('passes over labels it does not know', () => {
    expect(recordsOf('81 a4 00 61 61 02 01 18 63 80 63 6e6577 a0')).toEqual([{ n: 'a', v: 1 }]);
  });

  it('reads decimal fractions (RFC 8949 §3.4.4: 273.15 is 4([-2, 27315]))', () => {
    expect(recordsOf('81 a2 00 61 61 02 c4 82 21 19 6ab3')).toEqual([{ n: 'a', v: 273.15 }]);
    expect(codeOf('81 a2 00 61 61 02 c4 82 19 ffff 01')).toBe('number-not-finite');
    expect(codeOf('81 a2 00 61 61 02 c4 80')).toBe('label-type-wrong');
  });

  it('reads an array of indefinite length, as streams have it', () => {
    expect(recordsOf('9f bf 00 61 61 02 01 ff ff')).toEqual([{ n: 'a', v: 1 }]);
  });

  it('reads integers too large for a double as the nearest double', () => {
    expect(recordsOf('81 a2 00 61 61 02 1b ffffffffffffffff')).toEqual([{ n: 'a', v: 2 ** 64 }]);
  });

  it('refuses nesting of any depth without running out of stack', () => {
    for (const byte of [0x81, 0x9f, 0xa1, 0xc4, 0xd8]) {
      const decoded = decodeSenmlCbor(new Uint8Array(262_144).fill(byte));
      expect(decoded.ok ? '' : decoded.fault.code).toMatch(/too-deep|cbor-malformed/);
    }
    expect(codeOf('81'.repeat(9) + '00')).toBe('too-deep');
  });

  it('stops at more records than a message may have', () => {
    const bytes = new Uint8Array(3 + 20_001).fill(0xa0);
    bytes.set([0x99, 20_001 >> 8, 20_001 & 255]);
    const decoded = decodeSenmlCbor(bytes);
    expect(decoded.ok ? '' : decoded.fault.code).toBe('too-many-records');
  });

  it('reads from the middle of a larger buffer', () => {
    const whole = fromHex('ff ff 81 a2 00 61 61 02 01 ff');
    expect(decodeSenmlCbor(whole.subarray(2, 9))).toEqual({ ok: true, value: [{ n: 'a', v: 1 }] });
  });

  it('does not write numbers that no reading has', () => {
    expect(() => encodeSenmlCbor([{ n: 'a', v: Number.NaN }])).toThrow(WireEncodeError);
  });
});
