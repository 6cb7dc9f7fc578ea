import { appendFileSync, mkdirSync, renameSync, statSync } from 'node:fs';
import { join } from 'node:path';

/** A log that is wrong throughout must not fill the card. */
const MOST_BYTES = 1024 * 1024;
const LONGEST_LINE = 500;

export interface RejectedLines {
  readonly add: (reason: string, line: string) => void;
}

/**
 * Lines that could not be read or that the server would refuse, in `rejected.txt`: when, why, the line. At 1 MB it becomes
 * `rejected.old.txt`. The log itself keeps the lines too.
 */
export function openRejectedLines(
  folder: string,
  onFault: (reason: string) => void,
): RejectedLines {
  const path = join(folder, 'rejected.txt');
  return {
    add(reason, line) {
      try {
        mkdirSync(folder, { recursive: true, mode: 0o700 });
        const size = statSync(path, { throwIfNoEntry: false })?.size ?? 0;
        if (size > MOST_BYTES) renameSync(path, join(folder, 'rejected.old.txt'));
        const at = new Date().toISOString();
        appendFileSync(path, `${at}\t${reason}\t${line.slice(0, LONGEST_LINE)}\n`);
      } catch (cause) {
        onFault(`rejected.txt cannot be written: ${(cause as Error).message}`);
      }
    },
  };
}
