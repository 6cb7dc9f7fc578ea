import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { formatArray, parseArray } from './array-text.ts';

const same = (text: string) => text;

describe('arrays as text', () => {
  // PostgreSQL 18 documentation, section 8.15.2 and 8.15.6: the arrays shown there and what they hold.
  it.each([
    ['{10000,10000,10000,10000}', ['10000', '10000', '10000', '10000']],
    [
      '{{meeting,lunch},{training,presentation}}',
      [
        ['meeting', 'lunch'],
        ['training', 'presentation'],
      ],
    ],
    ['{}', []],
    ['{a,NULL,"NULL"}', ['a', null, 'NULL']],
    ['{"a,b","{c}","","d e"}', ['a,b', '{c}', '', 'd e']],
    [String.raw`{"say \"hi\"","back\\slash"}`, ['say "hi"', 'back\\slash']],
  ])('reads %s', (text, values) => {
    expect(parseArray(text, same)).toEqual(values);
  });

  it('writes NULL bare and everything else in quotes', () => {
    expect(formatArray([1.5, null, Number.NaN], String)).toBe('{"1.5",NULL,"NaN"}');
    expect(formatArray(['a"b\\c'], same)).toBe(String.raw`{"a\"b\\c"}`);
  });

  it('reads back whatever it wrote', () => {
    const arrays = fc.array(fc.option(fc.string({ unit: 'grapheme' })));
    fc.assert(
      fc.property(arrays, (values) => {
        expect(parseArray(formatArray(values, same), same)).toEqual(values);
      }),
    );
  });

  it.each(['', 'a', '{', '{"a', '[1:2]={1,2}'])('refuses %j', (text) => {
    expect(() => parseArray(text, same)).toThrow(RangeError);
  });
});
