/**
 * Characters a spreadsheet may take for the beginning of a formula, the full-width ones included.
 *
 * @source OWASP ASVS 5.0, 1.2.10; full-width forms: Unicode FF0B, FF0D, FF1D, FF20
 */
const FORMULA = /^[=+\-@\t\r\0＝＋－＠]/;
const NEEDS_QUOTES = /[",\r\n]/;

/** A cell of text (RFC 4180), which no spreadsheet runs. Not for numbers: `-12.3` must stay one. */
export function textCell(text: string): string {
  if (FORMULA.test(text)) return `"'${text.replaceAll('"', '""')}"`;
  return NEEDS_QUOTES.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

/** What stood before `textCell` guarded it, once the quotes are off. */
export const unguardedText = (cell: string): string =>
  cell.startsWith("'") && FORMULA.test(cell.slice(1)) ? cell.slice(1) : cell;

export type CellKind = 'text' | 'plain';

/** Text is guarded; what the program itself writes (numbers, times, key words) is not. Missing is empty. */
export function csvCell(value: string | number | null | undefined, kind: CellKind): string {
  if (value === null || value === undefined) return '';
  if (typeof value === 'number') return Number.isFinite(value) ? String(value) : '';
  return kind === 'text' ? textCell(value) : value;
}
