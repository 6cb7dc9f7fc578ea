import type { Delimiter } from './card-form.ts';

/**
 * The cells of a line. Quotes may stand around a cell, doubled within it (RFC 4180); a run of blanks is one delimiter. The guard that
 * spreadsheets' exports put before a formula (`'=`) is taken off again.
 */
export function splitLine(line: string, delimiter: Delimiter): string[] {
  if (delimiter === ' ' && !line.includes('"')) return line.trim().split(/[ \t]+/);
  if (!line.includes('"')) return line.split(delimiter).map(bare);
  const cells: string[] = [];
  let at = 0;
  while (at <= line.length) {
    while (line[at] === ' ' && delimiter !== ' ') at += 1;
    let cell = '';
    if (line[at] === '"') {
      at += 1;
      for (;;) {
        const quote = line.indexOf('"', at);
        if (quote < 0) {
          cell += line.slice(at);
          at = line.length;
          break;
        }
        cell += line.slice(at, quote);
        at = quote + 1;
        if (line[at] !== '"') break;
        cell += '"';
        at += 1;
      }
    }
    const next = line.indexOf(delimiter, at);
    const end = next < 0 ? line.length : next;
    cells.push(bare(cell + line.slice(at, end)));
    at = end + 1;
    if (delimiter === ' ') while (line[at] === ' ') at += 1;
    if (next < 0) break;
  }
  return cells;
}

function bare(cell: string): string {
  const text = cell.trim();
  return text.startsWith("'") && /^'[=+\-@＝＋－＠\t]/.test(text) ? text.slice(1) : text;
}
