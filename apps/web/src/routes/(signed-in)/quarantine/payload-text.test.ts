import { expect, it } from 'vitest';
import { payloadHex, payloadText } from './payload-text.ts';

it('shows text as text, and other bytes not as text', () => {
  // "°C" in UTF-8 is c2 b0 43; a lone c2 is not UTF-8 (RFC 3629).
  expect(payloadText('wrBD')).toBe('°C');
  expect(payloadText('wkM=')).toBeUndefined();
});

it('lets no character turn the line round or hide', () => {
  // U+202E, right-to-left override, and NUL.
  expect(payloadText(btoa('a\0b'))).toBe('a□b');
  expect(payloadText('4oCuYQ==')).toBe('□a');
});

it('shows bytes sixteen in a line, with their place and letters', () => {
  expect(payloadHex(btoa('[{"n":"batt_v","u"'))).toBe(
    '0000  5b 7b 22 6e 22 3a 22 62 61 74 74 5f 76 22 2c 22  [{"n":"batt_v","\n' +
      '0010  75 22                                            u"',
  );
});

it('shows the beginning of what is very long', () => {
  const long = btoa('x'.repeat(10_000));
  expect(payloadText(long)).toHaveLength(4097);
  expect(payloadHex(long).split('\n')).toHaveLength(256);
});
