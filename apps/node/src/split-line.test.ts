import { expect, it } from 'vitest';
import { splitLine } from './split-line.ts';

it.each([
  ['a, b ,c', ',', ['a', 'b', 'c']],
  ['a;;c', ';', ['a', '', 'c']],
  [' a\t b   c ', 'whitespace', ['a', 'b', 'c']],
  // RFC 4180, section 2, rules 5 to 7: quotes enclose separators, and a doubled quote is a quote.
  ['"aaa","b,bb","ccc"', ',', ['aaa', 'b,bb', 'ccc']],
  ['"aaa","b""bb",ccc', ',', ['aaa', 'b"bb', 'ccc']],
  ['a::b', '::', ['a', 'b']],
])('%s is cut at %s', (line, separator, fields) => {
  expect(splitLine(line, separator)).toEqual(fields);
});
