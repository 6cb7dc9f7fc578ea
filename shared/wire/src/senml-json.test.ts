import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { WireEncodeError } from './errors.ts';
import { decodeSenmlJson, encodeSenmlJson } from './senml-json.ts';

const decodeText = (text: string) => decodeSenmlJson(new TextEncoder().encode(text));
const codeOf = (text: string): string => {
  const decoded = decodeText(text);
  return decoded.ok ? 'ok' : decoded.fault.code;
};
const reasonOf = (text: string): string => {
  const decoded = decodeText(text);
  return decoded.ok ? '' : decoded.fault.reason;
};

describe('SenML in JSON', () => {
  it('never throws, whatever the bytes', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 300 }), (bytes) => {
        expect(decodeSenmlJson(bytes)).toHaveProperty('ok');
      }),
      { seed: 20_261_125 },
    );
  });

  it('never throws, whatever the JSON', () => {
    fc.assert(
      fc.property(fc.json(), (text) => {
        expect(decodeText(text)).toHaveProperty('ok');
        expect(decodeText(`[${text}]`)).toHaveProperty('ok');
      }),
      { seed: 20_261_125 },
    );
  });

  it.each([
    ['[]', 'pack-empty'],
    ['{"n":"a","v":1}', 'pack-not-array'],
    ['7', 'pack-not-array'],
    ['[7]', 'record-not-object'],
    ['[null]', 'record-not-object'],
    ['[[]]', 'record-not-object'],
    ['[{"n":"a","v":1},]', 'json-malformed'],
    ["[{'n':'a','v':1}]", 'json-malformed'],
    ['[{"n":"a","v":NaN}]', 'json-malformed'],
    ['[{"n":"a","v":-Infinity}]', 'json-malformed'],
    ['[{"n":"a","v":1', 'json-malformed'],
    ['[{"n":"a","v":1e400}]', 'number-not-finite'],
    ['[{"n":"a","v":-1e400}]', 'number-not-finite'],
    ['[{"n":"a","v":"12.6"}]', 'label-type-wrong'],
    ['[{"n":"a","v":null}]', 'label-type-wrong'],
    ['[{"n":"a","vb":1}]', 'label-type-wrong'],
    ['[{"n":7,"v":1}]', 'label-type-wrong'],
    ['[{"n":"a","v":1,"t":"2026-11-25T10:00:00Z"}]', 'label-type-wrong'],
    ['[{"n":"a","vd":"aGkgCg=="}]', 'label-type-wrong'],
    ['[{"n":"a","vd":"a+/b"}]', 'label-type-wrong'],
    ['[{"n":"a","vs":"\\ud800"}]', 'text-broken'],
    ['[{"n":"a","vs":"\\u0000"}]', 'text-broken'],
    ['[{"n":"\\ud800","v":1}]', 'text-broken'],
    ['[{"n":"a","v":1,"new_":1}]', 'label-must-understand'],
    ['[{"n":"a","v":1,"__proto__":{"v":2}}]', 'label-must-understand'],
  ])('refuses %s: %s', (text, code) => {
    expect(codeOf(text)).toBe(code);
  });

  it('passes over labels it does not know (RFC 8428 §4.4)', () => {
    expect(decodeText('[{"n":"a","v":1,"new":[1,{"x":2}],"constructor":1}]')).toEqual({
      ok: true,
      value: [{ n: 'a', v: 1 }],
    });
  });

  it('takes no harm from a key named __proto__', () => {
    codeOf('[{"n":"a","v":1,"__proto__":{"polluted":true}}]');
    expect(({} as Record<string, unknown>)['polluted']).toBeUndefined();
  });

  it('refuses bad UTF-8 instead of replacing it', () => {
    const bytes = new TextEncoder().encode('[{"n":"a","vs":"x"}]');
    bytes[bytes.indexOf(0x78)] = 0xff;
    const decoded = decodeSenmlJson(bytes);
    expect(decoded.ok ? '' : decoded.fault.code).toBe('text-not-utf8');
  });

  it('refuses nesting of any depth without running out of stack', () => {
    expect(codeOf('['.repeat(1_000_000))).toBe('too-deep');
    expect(codeOf('[{"a":'.repeat(100_000))).toBe('too-deep');
  });

  it('says how to mend what people get wrong by hand', () => {
    expect(reasonOf('[{"n":"a","v":NaN}]')).toContain('leave a record out');
    expect(reasonOf("[{'n':'a','v':1}]")).toContain('double quotes');
    expect(reasonOf('[{"n":"a","v":1},]')).toContain('comma');
    expect(reasonOf('[{"n":"a","v":1,"t":"noon"}]')).toContain('seconds since 1970');
  });

  it('puts nothing into a reason that a database refuses', () => {
    for (const text of ['[{"n":"a","\\ud800_":1}]', '[{"n":"a","v":"\\u0000\\ud800"}]']) {
      const reason = reasonOf(text);
      expect(reason).not.toBe('');
      expect(reason).not.toMatch(/[\p{Cc}\p{Cs}]/u);
    }
  });

  it('does not write numbers that JSON has no word for', () => {
    expect(() => encodeSenmlJson([{ n: 'a', v: Number.NaN }])).toThrow(WireEncodeError);
    expect(() => encodeSenmlJson([{ n: 'a', t: Infinity, v: 1 }])).toThrow(WireEncodeError);
  });
});
