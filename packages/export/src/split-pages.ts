import type { LinePage } from './raw-lines.ts';

/** Pages as contents of files that have at most so many rows each, their heading not counted. */
export interface SplitPages {
  /** The next file; undefined when all rows are written. The first one always is, even without a row. */
  next(): Promise<AsyncIterable<string> | undefined>;
  /** Rows of the file that was read last. */
  readonly rows: number;
}

export function splitPages(
  pages: AsyncGenerator<LinePage>,
  heading: string,
  mostRows: number,
): SplitPages {
  let left: LinePage | undefined;
  let over = false;
  let files = 0;
  let rows = 0;

  async function pull(): Promise<LinePage | undefined> {
    if (left !== undefined) {
      const page = left;
      left = undefined;
      return page;
    }
    for (;;) {
      const next = await pages.next();
      if (next.done === true) {
        over = true;
        return undefined;
      }
      if (next.value.rows > 0) return next.value;
    }
  }

  async function* content(): AsyncGenerator<string> {
    rows = 0;
    yield heading;
    for (;;) {
      const page = await pull();
      if (page === undefined) return;
      const room = mostRows - rows;
      if (page.rows <= room) {
        rows += page.rows;
        yield page.text;
        continue;
      }
      left = page;
      if (room > 0) {
        const at = endOfLine(page.text, room);
        left = { text: page.text.slice(at), rows: page.rows - room };
        rows += room;
        yield page.text.slice(0, at);
      }
      return;
    }
  }

  return {
    async next() {
      if (files > 0) {
        // A file begins only where there is a row for it.
        left = over ? undefined : await pull();
        if (left === undefined) return undefined;
      }
      files += 1;
      return content();
    },
    get rows() {
      return rows;
    },
  };
}

/** Place behind the n-th line. Cells of readings have no line breaks in them. */
function endOfLine(text: string, lines: number): number {
  let at = 0;
  for (let i = 0; i < lines; i += 1) at = text.indexOf('\n', at) + 1;
  return at;
}
