/** What a command writes to. */
export interface Terminal {
  readonly out: (line: string) => void;
  /** For what is not the result: warnings, progress. */
  readonly note: (line: string) => void;
  /** A line that is written over by the next; nothing where no person looks on. */
  readonly progress: (line: string) => void;
}

const WIDTH = 30;

export function processTerminal(): Terminal {
  const live = process.stderr.isTTY === true;
  let shown = false;
  const clear = (): void => {
    if (shown) process.stderr.write('\r\u001b[K');
    shown = false;
  };
  return {
    out(line) {
      clear();
      process.stdout.write(`${line}\n`);
    },
    note(line) {
      clear();
      process.stderr.write(`${line}\n`);
    },
    progress(line) {
      if (!live) return;
      clear();
      process.stderr.write(line);
      shown = true;
    },
  };
}

/** `━━━━━───── 48 %  storing, 480,000 lines` */
export function bar(ratio: number, words: string): string {
  const done = Math.round(ratio * WIDTH);
  return `${'━'.repeat(done)}${'─'.repeat(WIDTH - done)} ${String(Math.round(ratio * 100)).padStart(3)} %  ${words}`;
}
