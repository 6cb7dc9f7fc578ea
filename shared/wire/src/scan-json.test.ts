import { describe, expect, it } from 'vitest';
import { scanJson } from './scan-json.ts';

const codeOf = (text: string): string => {
  const scanned = scanJson(text);
  return scanned.ok ? 'ok' : scanned.fault.code;
};

describe('looking over JSON before it is parsed', () => {
  it('lets eight levels pass and not nine', () => {
    expect(codeOf('['.repeat(8) + ']'.repeat(8))).toBe('ok');
    expect(codeOf('['.repeat(9) + ']'.repeat(9))).toBe('too-deep');
    expect(codeOf(`[${'{"a":'.repeat(8)}`)).toBe('too-deep');
  });

  it('does not count brackets inside text', () => {
    expect(codeOf(`[{"n":"a","vs":"${'['.repeat(50)}\\"${'{'.repeat(50)}"}]`)).toBe('ok');
  });

  it('refuses a label that comes twice in one record', () => {
    expect(codeOf('[{"n":"a","v":1,"v":2}]')).toBe('label-doubled');
    expect(codeOf('[{"n":"a","v":1},{"n":"a","v":2}]')).toBe('ok');
  });

  it('sees a doubled label through escapes', () => {
    expect(codeOf('[{"n":"a","v":1,"\\u0076":2}]')).toBe('label-doubled');
  });

  it('does not take a value for a label', () => {
    expect(codeOf('[{"n":"v","vs":"v","u":"v"}]')).toBe('ok');
    expect(codeOf('[{"x":["v","v"],"v":1}]')).toBe('ok');
    expect(codeOf('[["v","v"]]')).toBe('ok');
    expect(codeOf('[{"x":{"v":1,"v":2},"v":1}]')).toBe('ok');
  });

  it('stops at more records than a message may have', () => {
    expect(codeOf(`[${'{},'.repeat(20_000)}{}]`)).toBe('too-many-records');
  });

  it.each(['', '[', '"', '"\\', '[{"n', '}}}}', '[{"n":"\\'])('comes to an end on %j', (text) => {
    expect(codeOf(text)).toBe('ok');
  });
});
