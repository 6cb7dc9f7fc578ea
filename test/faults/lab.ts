import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { migrateStore, startEmbeddedPostgres } from '@duskline/store';
import { createDatabase, dropDatabase } from '@duskline/test-harness';
import postgres, { type Sql } from 'postgres';
import { seededChance } from './generator/seeded-chance.ts';
import { buildPrograms } from './nemesis/built-programs.ts';

/** What an experiment works with. Everything it starts it hands to `undo`. */
export interface Lab {
  readonly full: boolean;
  readonly seed: number;
  readonly chance: () => number;
  /** Of this experiment alone; removed afterwards. */
  readonly folder: string;
  /** A migrated database on the shared server. */
  readonly freshDatabase: () => Promise<string>;
  readonly openSql: (url: string) => Sql;
  readonly undo: (step: () => unknown) => void;
  /** A word on what is happening, for whoever watches. */
  readonly say: (text: string) => void;
}

/** The Postgres that experiments share as long as they do not kill it: durable, as in real use. */
export interface SharedPostgres {
  readonly adminUrl: string;
  readonly template: string;
  readonly stop: () => Promise<void>;
}

export async function startSharedPostgres(): Promise<SharedPostgres> {
  const folder = mkdtempSync(join(tmpdir(), 'duskline-faults-pg-'));
  const server = await startEmbeddedPostgres({ dataDir: folder });
  const template = 'duskline_template';
  await migrateStore(await createDatabase(server.url, template));
  return {
    adminUrl: server.url,
    template,
    async stop() {
      await server.stop();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

export interface LabOptions {
  readonly full: boolean;
  readonly seed: number;
  readonly say: (text: string) => void;
  readonly shared: () => Promise<SharedPostgres>;
}

/** Of all labs of the process: two of them may ask in the same millisecond. */
let databases = 0;
/** How each lab that is open is taken down. */
const open = new Set<() => Promise<void>>();

/** For whoever is told to stop in mid-experiment: takes down what all labs put up. */
export async function closeLabs(): Promise<void> {
  for (const takeDown of open) await takeDown();
}

/** Runs `work` in a lab of its own and takes down what it put up, newest first. */
export async function inLab<T>(options: LabOptions, work: (lab: Lab) => Promise<T>): Promise<T> {
  await buildPrograms();
  const folder = mkdtempSync(join(tmpdir(), 'duskline-faults-'));
  const steps: (() => unknown)[] = [() => rmSync(folder, { recursive: true, force: true })];
  const undo: Lab['undo'] = (step) => void steps.push(step);
  const lab: Lab = {
    full: options.full,
    seed: options.seed,
    chance: seededChance(options.seed),
    folder,
    say: options.say,
    undo,
    async freshDatabase() {
      const { adminUrl, template } = await options.shared();
      const name = `duskline_fault_${process.pid}_${Date.now()}_${databases++}`;
      undo(() => dropDatabase(adminUrl, name));
      return createDatabase(adminUrl, name, template);
    },
    openSql(url) {
      const sql = postgres(url, { max: 2, onnotice: () => undefined });
      undo(() => sql.end({ timeout: 2 }));
      return sql;
    },
  };
  async function takeDown(): Promise<void> {
    for (let step = steps.pop(); step !== undefined; step = steps.pop()) {
      try {
        await step();
      } catch (cause) {
        options.say(`could not be taken down: ${String(cause)}`);
      }
    }
  }
  open.add(takeDown);
  try {
    return await work(lab);
  } finally {
    await takeDown();
    open.delete(takeDown);
  }
}
