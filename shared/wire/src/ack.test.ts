import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { decodeAck, encodeAck } from './ack.ts';
import { WireEncodeError } from './errors.ts';

const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);

describe('acknowledgements', () => {
  it('are written as the wire has them', () => {
    expect(encodeAck({ boot: 7, seq: 41 })).toEqual(bytes('{"boot":7,"seq":41}'));
  });

  it('come back as they went', () => {
    fc.assert(
      fc.property(fc.nat(), fc.nat(), (boot, seq) => {
        const place = { boot, seq: seq + 1 };
        expect(decodeAck(encodeAck(place))).toEqual({ ok: true, value: place });
      }),
      { seed: 20_261_125 },
    );
  });

  it('may grow new members', () => {
    expect(decodeAck(bytes('{"boot":7,"seq":41,"more":true}'))).toEqual({
      ok: true,
      value: { boot: 7, seq: 41 },
    });
  });

  it.each([
    '',
    'null',
    '[]',
    '{}',
    '{"boot":7}',
    '{"boot":"7","seq":41}',
    '{"boot":7,"seq":0}',
    '{"boot":-1,"seq":1}',
    '{"boot":7,"seq":1.5}',
    '{"boot":7,"seq":1e400}',
    `{"boot":7,"seq":41,"x":"${'x'.repeat(300)}"}`,
  ])('are not %s', (text) => {
    const decoded = decodeAck(bytes(text));
    expect(decoded.ok ? '' : decoded.fault.code).toBe('ack-malformed');
  });

  it('are not bytes that are no text', () => {
    expect(decodeAck(Uint8Array.of(0xff, 0xfe)).ok).toBe(false);
  });

  it('are not written for what is no place', () => {
    expect(() => encodeAck({ boot: 7, seq: 0 })).toThrow(WireEncodeError);
    expect(() => encodeAck({ boot: Number.NaN, seq: 1 })).toThrow(WireEncodeError);
  });
});
