import { mkdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { dirname } from 'node:path';

/** What the pretend fleet must remember from one run to the next. */
export interface FleetMemory {
  readonly version: 1;
  readonly seed: number;
  /** Start of the history and the moment the drills are about. */
  readonly startMs: number;
  readonly drillMs: number;
  readonly nodes: Readonly<Record<string, NodeMemory>>;
}

export interface NodeMemory {
  readonly node: string;
  readonly secret: string;
  /** The last boot number used; the next run begins above it. */
  readonly boot: number;
  /** Everything up to here has been acknowledged. */
  readonly sentToMs: number;
}

/** The memory in that file, or undefined when there is none yet. */
export function readFleetMemory(path: string): FleetMemory | undefined {
  try {
    return JSON.parse(readFileSync(path, 'utf8')) as FleetMemory;
  } catch (cause) {
    if ((cause as { code?: string }).code === 'ENOENT') return undefined;
    throw cause;
  }
}

/** Keeps it: whole or not at all, and for its owner only, since it holds the nodes' secrets. */
export function writeFleetMemory(path: string, memory: FleetMemory): void {
  mkdirSync(dirname(path), { recursive: true });
  writeFileSync(`${path}.part`, JSON.stringify(memory, null, 2), { mode: 0o600 });
  renameSync(`${path}.part`, path);
}
