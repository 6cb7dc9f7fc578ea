import { describe, expect, it } from 'vitest';
import { isRelativeTime, resolvePack } from './resolve-pack.ts';
import type { SenmlRecord } from './senml-record.ts';

const codeOf = (...records: readonly SenmlRecord[]): string => {
  const resolved = resolvePack(records);
  return resolved.ok ? 'ok' : resolved.fault.code;
};
const first = (...records: readonly SenmlRecord[]) => {
  const resolved = resolvePack(records);
  if (!resolved.ok) throw new Error(resolved.fault.reason);
  return resolved.value[0];
};

describe('resolving a pack', () => {
  it('has the border between relative and absolute at 268,435,456 s (RFC 8428 §4.5.3)', () => {
    expect(isRelativeTime(268_435_455)).toBe(true);
    expect(isRelativeTime(268_435_456)).toBe(false);
  });

  it.each([
    ['both are relative and the sum is not', 268_435_455, 1],
    ['an absolute base is pulled below the border', 268_435_456, -1],
    ['both are absolute', 1_790_000_000, 1_790_000_030],
    ['a relative base meets an absolute time', -5, 1_790_000_000],
  ])('refuses times where %s', (_case, bt, t) => {
    expect(codeOf({ bt, t, n: 'a', v: 1 })).toBe('time-mixed');
  });

  it.each([
    ['an absolute base and an offset', 1_790_000_000, -30, 1_789_999_970],
    ['a relative base and an offset', -60, -30, -90],
    ['no base', undefined, 1_790_000_000, 1_790_000_000],
    ['a base of 0', 0, 1_790_000_000, 1_790_000_000],
    ['a base alone', 1_790_000_000, undefined, 1_790_000_000],
    ['neither', undefined, undefined, 0],
  ])('adds times: %s', (_case, bt, t, expected) => {
    const record = { ...(bt === undefined ? {} : { bt }), ...(t === undefined ? {} : { t }) };
    expect(first({ ...record, n: 'a', v: 1 })?.timeS).toBe(expected);
  });

  it('adds base value and value, and base sum and sum (RFC 8428 §4.5.4)', () => {
    expect(first({ bv: 20, n: 'a', v: 0.5 })?.value).toBe(20.5);
    expect(first({ bv: 20, n: 'a' })?.value).toBe(20);
    expect(first({ bs: 100, n: 'a', v: 1 })?.sum).toBe(100);
    expect(first({ bs: 100, n: 'a', v: 1, s: 5 })?.sum).toBe(105);
    expect(first({ n: 'a', s: 5 })).toMatchObject({ value: undefined, sum: 5 });
  });

  it('leaves words and flags alone where a base value is in force', () => {
    expect(first({ bv: 20, n: 'a', vs: 'float' })?.value).toBe('float');
    expect(first({ bv: 20, n: 'a', vb: true })?.value).toBe(true);
  });

  it('lets a later base field replace an earlier one, for what follows', () => {
    const resolved = resolvePack([
      { bn: 'one_', bu: 'V', bt: 1_790_000_000, n: 'a', v: 1 },
      { n: 'b', v: 2 },
      { bn: 'two_', bu: 'A', bt: 1_790_000_060, n: 'b', v: 3 },
      { n: 'b', v: 4, t: 1 },
    ]);
    expect(
      resolved.ok && resolved.value.map(({ name, unit, timeS }) => [name, unit, timeS]),
    ).toEqual([
      ['one_a', 'V', 1_790_000_000],
      ['one_b', 'V', 1_790_000_000],
      ['two_b', 'A', 1_790_000_060],
      ['two_b', 'A', 1_790_000_061],
    ]);
  });

  it.each([
    ['a', 'ok'],
    ['9lives', 'ok'],
    ['Az3-:./_', 'ok'],
    ['', 'name-missing'],
    ['-3b', 'name-invalid'],
    ['_a', 'name-invalid'],
    ['a;b', 'name-invalid'],
    ['a b', 'name-invalid'],
    ['tëmp', 'name-invalid'],
    ['a'.repeat(300), 'name-invalid'],
  ])('checks the name %j (RFC 8428 §4.5.1): %s', (n, expected) => {
    expect(codeOf({ n, v: 1 })).toBe(expected);
  });

  it('checks base name and name together', () => {
    expect(codeOf({ bn: 'a', n: '/b', v: 1 })).toBe('ok');
    expect(codeOf({ bn: '/3h', n: 'i', v: 1 })).toBe('name-invalid');
  });

  it.each([
    [10, 'ok'],
    [5, 'ok'],
    // RFC 9100: version 10 with the feature "secondary units".
    [26, 'ok'],
    [11, 'version-unknown'],
    [42, 'version-unknown'],
    [0, 'version-unknown'],
    [9.5, 'version-unknown'],
  ])('checks version %d: %s', (bver, expected) => {
    expect(codeOf({ bver, n: 'a', v: 1 })).toBe(expected);
  });

  it('wants one version in a pack', () => {
    expect(codeOf({ bver: 5, n: 'a', v: 1 }, { bver: 5, n: 'a', v: 1 })).toBe('ok');
    expect(codeOf({ bver: 5, n: 'a', v: 1 }, { bver: 6, n: 'a', v: 1 })).toBe('version-mixed');
    expect(codeOf({ n: 'a', v: 1 }, { bver: 5, n: 'a', v: 1 })).toBe('version-mixed');
  });

  it('wants exactly one value', () => {
    expect(codeOf({ n: 'a' })).toBe('value-missing');
    expect(codeOf({ n: 'a', v: 1, vb: true })).toBe('value-doubled');
    expect(codeOf({ n: 'a', vs: 'x', vd: new Uint8Array(1) })).toBe('value-doubled');
  });

  it('refuses values that add up to infinity', () => {
    expect(codeOf({ bv: 1.7e308, n: 'a', v: 1.7e308 })).toBe('number-not-finite');
  });

  it('names the record in the fault, counted from 1', () => {
    const resolved = resolvePack([{ n: 'a', v: 1 }, { n: 'b' }]);
    expect(resolved.ok ? '' : resolved.fault.reason).toContain('Record 2 (b)');
  });
});
