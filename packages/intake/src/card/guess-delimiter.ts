import type { DecimalMark, Delimiter } from './card-form.ts';
import { isMissingWord, readNumber } from './read-number.ts';
import { isClockCell, isDateCell, readTime } from './read-time.ts';
import { splitLine } from './split-line.ts';

/** The number that occurs most often, the larger of two that do so equally. */
export function mostCommon(numbers: readonly number[]): number {
  const counts = new Map<number, number>();
  for (const one of numbers) counts.set(one, (counts.get(one) ?? 0) + 1);
  let [best, most] = [0, 0];
  for (const [one, count] of counts)
    if (count > most || (count === most && one > best)) [best, most] = [one, count];
  return best;
}

/**
 * What stands between the cells: the mark that cuts most lines into the same number of cells that each look like a number, a
 * time or a word.
 */
export function guessDelimiter(lines: readonly string[]): Delimiter {
  let [best, bestScore] = [',' as Delimiter, -1];
  // In this order: a comma and a blank also stand within cells.
  for (const delimiter of ['\t', ';', '|', ',', ' '] as const satisfies readonly Delimiter[]) {
    const score = scoreOf(lines, delimiter);
    if (score > bestScore + 0.02) [best, bestScore] = [delimiter, score];
  }
  return best;
}

function scoreOf(lines: readonly string[], delimiter: Delimiter): number {
  const rows = lines.map((line) => splitLine(line, delimiter));
  const width = mostCommon(rows.map((row) => row.length));
  if (width < 2) return 0;
  const even = rows.filter((row) => row.length === width);
  let [plain, cells] = [0, 0];
  for (const row of even)
    for (const cell of row) {
      cells += 1;
      if (isPlainCell(cell)) plain += 1;
    }
  return (even.length / rows.length) * (plain / Math.max(1, cells));
}

const isPlainCell = (cell: string): boolean =>
  isMissingWord(cell) ||
  readNumber(cell, '.') !== undefined ||
  readNumber(cell, ',') !== undefined ||
  readTime(cell, 'day-first') !== undefined ||
  isDateCell(cell) ||
  isClockCell(cell) ||
  /^[\p{L}][\p{L}_ -]{0,20}$/u.test(cell);

export interface DecimalGuess {
  readonly decimal: DecimalMark;
  /** Every comma has three digits behind it and could as well part thousands. */
  readonly unsure?: true;
}

/** Which mark the numbers have before their fractions. */
export function guessDecimal(
  rows: readonly (readonly string[])[],
  delimiter: Delimiter,
): DecimalGuess {
  let [commas, dots, threes] = [0, 0, 0];
  for (const row of rows)
    for (const cell of row) {
      if (/^[-+−]?\d*,\d+$/.test(cell)) {
        commas += 1;
        if (/^[-+−]?[1-9]\d{0,2},\d{3}$/.test(cell)) threes += 1;
      } else if (/^[-+−]?\d{1,3}(?:\.\d{3})+,\d+$/.test(cell)) commas += 1;
      else if (/^[-+−]?\d*\.\d+$/.test(cell)) dots += 1;
    }
  if (commas === 0 || dots > commas) return { decimal: '.' };
  if (delimiter === ',' && dots > 0) return { decimal: '.' };
  return threes === commas ? { decimal: ',', unsure: true } : { decimal: ',' };
}
