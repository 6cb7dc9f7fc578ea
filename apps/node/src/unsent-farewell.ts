import { existsSync, readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { writeDurably } from './durable-file.ts';

/** A farewell that may not have reached the broker. Said late, with its own time, it still tells a planned silence from a fault. */
export interface UnsentFarewell {
  readonly keep: (word: Uint8Array) => void;
  readonly read: () => Uint8Array | undefined;
  readonly forget: () => void;
}

const FILE = 'farewell';

/** @param folder where it outlives a power cut */
export function openUnsentFarewell(
  folder: string,
  onFault: (reason: string) => void,
): UnsentFarewell {
  const path = join(folder, FILE);
  const tolerate = (what: string, work: () => void) => {
    try {
      work();
    } catch (cause) {
      onFault(`the farewell could not be ${what}: ${(cause as Error).message}`);
    }
  };
  return {
    keep: (word) => tolerate('kept', () => writeDurably(folder, FILE, word)),
    read: () => (existsSync(path) ? readFileSync(path) : undefined),
    forget: () => tolerate('forgotten', () => rmSync(path, { force: true })),
  };
}
