import { expect, it } from 'vitest';
import { payloadText } from './payload-text.ts';

it('shows text as text and other bytes as hexadecimal', () => {
  // "°C" in UTF-8 is c2 b0 43; a lone c2 is not UTF-8 (RFC 3629).
  expect(payloadText('wrBD')).toBe('°C');
  expect(payloadText('wkM=')).toBe('c2 43');
});
