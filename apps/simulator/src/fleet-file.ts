import { mkdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { dirname } from 'node:path';
import type { SettingsRequest } from '@duskline/domain';
import type { NodeState, Tuning } from './simulated-node.ts';

/** What the pretend fleet must remember from one run to the next. */
export interface FleetMemory {
  readonly version: 2;
  readonly seed: number;
  /** Start of the history and the moment the drills are about. */
  readonly startMs: number;
  readonly drillMs: number;
  /** By the id of their sites. */
  readonly nodes: Readonly<Record<string, NodeMemory>>;
}

export interface NodeMemory {
  readonly node: string;
  readonly secret: string;
  /** The last boot number that may have been used; what is sent next has a higher one. */
  readonly boot: number;
  /** How its drill was tuned; absent until that was done, or where there is nothing to tune. */
  readonly tuning?: Tuning;
  /** As it was after the last message that is committed at the server; absent until there is one. */
  readonly state?: NodeState;
  /** The request of settings it follows; absent: nobody asked. */
  readonly settings?: SettingsRequest;
}

/** Keeps the memory on disk: whole or not at all, and for its owner only, since it holds the nodes' secrets. */
export interface FleetKeeper {
  readonly memory: () => FleetMemory;
  readonly update: (siteId: string, node: NodeMemory) => void;
  /** Writes what was updated since the last time. */
  readonly save: () => void;
}

/**
 * @param begin what to remember when there is no such file yet
 * @throws when the file is of another version, or is none of ours
 */
export function openFleetFile(path: string, begin: () => FleetMemory): FleetKeeper {
  const there = read(path);
  let memory = there ?? begin();
  let unsaved = there === undefined;
  return {
    memory: () => memory,
    update(siteId, node) {
      memory = { ...memory, nodes: { ...memory.nodes, [siteId]: node } };
      unsaved = true;
    },
    save() {
      if (!unsaved) return;
      mkdirSync(dirname(path), { recursive: true });
      writeFileSync(`${path}.part`, JSON.stringify(memory, null, 1), { mode: 0o600 });
      renameSync(`${path}.part`, path);
      unsaved = false;
    },
  };
}

function read(path: string): FleetMemory | undefined {
  let text: string;
  try {
    text = readFileSync(path, 'utf8');
  } catch (cause) {
    if ((cause as { code?: string }).code === 'ENOENT') return undefined;
    throw cause;
  }
  const memory = JSON.parse(text) as FleetMemory;
  if (memory.version === 2) return memory;
  throw new Error(
    `${path} belongs to a pretend fleet of another version. Begin anew in another data folder (DUSKLINE_DATA_DIR).`,
  );
}
