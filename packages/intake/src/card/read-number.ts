import type { DecimalMark } from './card-form.ts';

const PLAIN_COMMA = /^[-+]?(?:\d+,?\d*|,\d+)(?:[eE][-+]?\d{1,3})?$/;
const PLAIN = /^[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d{1,3})?$/;

/** What loggers write where there is no value. Never a nought. */
const missingWords = new Set([
  '',
  '-',
  '--',
  '---',
  '?',
  '*',
  'na',
  'n/a',
  'nan',
  '-nan',
  'nil',
  'null',
  'none',
  'inf',
  '-inf',
  'missing',
  'error',
  'err',
  'fault',
]);

export const isMissingWord = (cell: string): boolean =>
  cell.length < 9 && missingWords.has(cell.toLowerCase());

/** The number in a cell; undefined where it is none. A comma that is the decimal mark, a minus sign of typesetters and blanks or apostrophes between thousands are understood. */
export function readNumber(cell: string, decimal: DecimalMark): number | undefined {
  if (cell.length > 40) return undefined;
  const short = shortNumber(cell, decimal === '.' ? 46 : 44);
  if (short !== undefined) return short;
  if (decimal === '.' ? PLAIN.test(cell) : PLAIN_COMMA.test(cell)) {
    const value = Number(decimal === '.' ? cell : cell.replace(',', '.'));
    return Number.isFinite(value) ? value : undefined;
  }
  if (!/\d/.test(cell)) return undefined;
  let text = cell.startsWith('\u2212') ? `-${cell.slice(1)}` : cell;
  if (decimal === ',') {
    if (/^[-+]?\d{1,3}(?:\.\d{3})+,\d+$/.test(text)) text = text.replaceAll('.', '');
    text = text.replace(',', '.');
  } else if (/^[-+]?\d{1,3}(?:,\d{3})+(?:\.\d+)?$/.test(text)) text = text.replaceAll(',', '');
  if (/\d[ '\u00a0\u202f]\d{3}/.test(text)) text = text.replace(/[ '\u00a0\u202f]/g, '');
  return PLAIN.test(text) ? Number(text) : undefined;
}

const POWERS_OF_TEN = Array.from({ length: 16 }, (_, exponent) => 10 ** exponent);

/**
 * Digits with or without a mark, as nearly all cells are, without making a text of them: up to fifteen digits and the power of
 * ten beside them are exact, so that their quotient is the double nearest to what is written (Clinger 1990, "How to read
 * floating point numbers accurately"). Undefined for any other cell.
 */
function shortNumber(cell: string, mark: number): number | undefined {
  const { length } = cell;
  const first = cell.charCodeAt(0);
  const start = first === 45 || first === 43 ? 1 : 0;
  let [digits, markAt] = [0, -1];
  if (length - start > 16) return undefined;
  for (let at = start; at < length; at += 1) {
    const character = cell.charCodeAt(at);
    if (character >= 48 && character <= 57) digits = digits * 10 + character - 48;
    else if (character === mark && markAt < 0) markAt = at;
    else return undefined;
  }
  const count = length - start - (markAt < 0 ? 0 : 1);
  if (count === 0 || count > 15) return undefined;
  const value = markAt < 0 ? digits : digits / (POWERS_OF_TEN[length - 1 - markAt] as number);
  return first === 45 ? -value : value;
}

/** Digits behind the decimal mark. */
export function decimalsOf(cell: string): number {
  for (let at = cell.length - 1; at >= 0; at -= 1) {
    const character = cell.charCodeAt(at);
    if (character === 46 || character === 44) return cell.length - 1 - at;
    if (character < 48 || character > 57) return 0;
  }
  return 0;
}
