import { createTestDatabase, waitFor, type TestDatabase } from '@duskline/test-harness';
import { sql as statement, type Kysely } from 'kysely';
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import postgres from 'postgres';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { isDatabaseLost, TransactionLostError } from './database-errors.ts';
import { openDatabase, type Database } from './open-database.ts';

// The rows are counted through a client of its own (the plain driver), which nobody kills.

const ROWS = 5;
const VICTIMS = 'duskline';

interface Tables {
  entry: { key: string; part: number };
}

let home: TestDatabase;
let witness: postgres.Sql;
let database: Database<Tables>;

beforeAll(async () => {
  home = await createTestDatabase({ migrated: false });
  witness = postgres(home.url, {
    max: 2,
    connection: { application_name: 'witness' },
    onnotice: () => undefined,
  });
  await witness`create table entry (key text not null, part int not null, primary key (key, part))`;
});

afterAll(async () => {
  await witness.end();
  await home.drop();
});

beforeEach(async () => {
  await witness`truncate entry`;
  database = openDatabase<Tables>({ url: home.url, maxConnections: 6 });
});

afterEach(async () => {
  await database.close();
});

/** Kills every connection of ours once. */
async function kill(): Promise<number> {
  const killed = await witness`
    select pg_terminate_backend(pid) from pg_stat_activity
    where application_name = ${VICTIMS} and datname = current_database()`;
  return killed.count;
}

/** Kills again and again until so many have died. */
async function killUntil(wanted: number, everyMs: number): Promise<number> {
  let killed = 0;
  while (killed < wanted) {
    killed += await kill();
    await sleep(everyMs);
  }
  return killed;
}

const insert = (trx: Kysely<Tables>, key: string, part: number) =>
  trx.insertInto('entry').values({ key, part }).execute();

const partsOf = async (key: string): Promise<number> =>
  (await witness`select 1 from entry where key = ${key}`).count;

describe('single statements while their connections are killed', () => {
  it('either answer in full or are rejected as lost, and go on afterwards', async () => {
    let running = true;
    let answered = 0;
    const lost: unknown[] = [];
    const worker = async (worker: number): Promise<void> => {
      while (running) {
        try {
          const rows = await database.sql`
            select ${worker}::int as worker, i from generate_series(1, 20) as i`;
          expect(rows.length).toBe(20);
          expect(rows.every((row, at) => row['worker'] === worker && row['i'] === at + 1)).toBe(
            true,
          );
          answered += 1;
        } catch (error) {
          if (!isDatabaseLost(error)) throw error;
          lost.push(error);
        }
      }
    };
    const workers = Array.from({ length: 12 }, (_, index) => worker(index));
    const killed = await killUntil(200, 20);
    running = false;
    await Promise.all(workers);

    expect(killed).toBeGreaterThanOrEqual(200);
    expect(lost.length).toBeGreaterThan(0);
    expect(answered).toBeGreaterThan(0);
    // A killed connection costs one statement at most: the next ones get fresh connections.
    expect(lost.length).toBeLessThanOrEqual(killed);
    expect(await database.sql`select 1 as one`).toEqual([{ one: 1 }]);
  });

  it('do not suffer from connections that died while idle', async () => {
    for (let round = 0; round < 10; round += 1) {
      await Promise.all(Array.from({ length: 6 }, () => database.sql`select pg_sleep(0.02)`));
      expect(await kill()).toBe(6);
      await waitFor('the sockets to close', async () => {
        const [open] = await witness`
          select count(*)::int as n from pg_stat_activity where application_name = ${VICTIMS} and datname = current_database()`;
        return open?.['n'] === 0;
      });
      // A container's port forwarder passes the closing on a little later.
      await sleep(300);
      await Promise.all(Array.from({ length: 6 }, () => database.sql`select 1`));
    }
  });
});

describe('a transaction whose connection is killed', () => {
  it('between two statements refuses the later ones and keeps nothing', async () => {
    const work = database.transaction(async (trx) => {
      await insert(trx, 'half', 1);
      await kill();
      await sleep(50);
      // Work that takes no notice of failures must not get the rest in, either.
      await insert(trx, 'half', 2).catch(() => undefined);
      await insert(trx, 'half', 3).catch(() => undefined);
    });
    await expect(work).rejects.toBeInstanceOf(TransactionLostError);
    await expect(work).rejects.toMatchObject({ outcome: 'rolled-back' });
    expect(await partsOf('half')).toBe(0);
  });

  it('in the middle of a statement keeps nothing of those waiting behind it', async () => {
    const work = database.transaction(async (trx) => {
      const slow = statement`select pg_sleep(30)`.execute(trx);
      const behind = [1, 2, 3].map((part) => insert(trx, 'behind', part));
      // Watched from the start: on a busy machine they fail before the answer to the kill is here.
      const outcomes = Promise.allSettled([slow, ...behind]);
      await sleep(100);
      await kill();
      const results = await outcomes;
      expect(results.map((result) => result.status)).toEqual(Array(4).fill('rejected'));
    });
    await expect(work).rejects.toMatchObject({ code: 'transaction-lost', outcome: 'rolled-back' });
    expect(await partsOf('behind')).toBe(0);
  });

  it('during COMMIT says that the outcome is unknown', async () => {
    await witness`create function dawdle() returns trigger language plpgsql
      as 'begin perform pg_sleep(30); return null; end'`;
    await witness`create constraint trigger dawdling after insert on entry
      deferrable initially deferred for each row execute function dawdle()`;
    try {
      const work = database.transaction((trx) => insert(trx, 'late', 1));
      const outcome = work.catch((error: unknown) => error);
      await waitFor('COMMIT to run', async () => {
        const [busy] = await witness`select 1 from pg_stat_activity
          where application_name = ${VICTIMS} and query = 'commit' and state = 'active'`;
        return busy !== undefined;
      });
      await kill();
      expect(await outcome).toMatchObject({ code: 'transaction-lost', outcome: 'unknown' });
    } finally {
      await witness`drop trigger dawdling on entry`;
    }
  });
});

describe('many transactions while their connections are killed', () => {
  it('are there whole or not at all, as they were told', async () => {
    let running = true;
    const told = new Map<string, 'committed' | 'rolled-back' | 'unknown' | 'not-begun'>();
    const worker = async (name: string): Promise<void> => {
      for (let round = 0; running; round += 1) {
        const key = `${name}-${round}`;
        told.set(key, await attempt(key, round));
      }
    };
    const attempt = async (key: string, round: number) => {
      try {
        await database.transaction(async (trx) => {
          const parts = Array.from({ length: ROWS }, (_, index) => index + 1);
          // In turn: all at once, one by one, and one by one with a pause to be killed in.
          if (round % 3 === 0) await Promise.all(parts.map((part) => insert(trx, key, part)));
          else {
            for (const part of parts) {
              await insert(trx, key, part).catch(() => undefined);
              if (round % 3 === 2) await sleep(3);
            }
          }
        });
        return 'committed';
      } catch (error) {
        if (!isDatabaseLost(error)) throw error;
        return error instanceof TransactionLostError ? error.outcome : 'not-begun';
      }
    };
    const workers = ['a', 'b', 'c', 'd'].map(worker);
    const killed = await killUntil(300, 20);
    running = false;
    await Promise.all(workers);

    expect(killed).toBeGreaterThanOrEqual(300);
    const rows = await witness`select key, count(*)::int as parts from entry group by key`;
    const parts = new Map(rows.map((row) => [row['key'] as string, row['parts'] as number]));
    const wrong = [...told].filter(([key, outcome]) => {
      const found = parts.get(key) ?? 0;
      if (outcome === 'committed') return found !== ROWS;
      if (outcome === 'unknown') return found !== ROWS && found !== 0;
      return found !== 0;
    });
    expect(wrong).toEqual([]);
    const outcomes = [...told.values()];
    expect(outcomes.filter((each) => each === 'committed').length).toBeGreaterThan(10);
    expect(outcomes.filter((each) => each === 'rolled-back').length).toBeGreaterThan(10);
    await database.transaction((trx) => insert(trx, 'afterwards', 1));
    expect(await partsOf('afterwards')).toBe(1);
  });
});

describe('a process whose connections are killed', () => {
  it('neither exits nor sees an error that nobody could have caught', async () => {
    const child = spawn(
      process.execPath,
      ['--conditions=development', '--import', 'tsx', '--input-type=module', '--eval', program],
      {
        cwd: fileURLToPath(new URL('.', import.meta.url)),
        env: { ...process.env, DATABASE_URL: home.url },
        stdio: ['pipe', 'pipe', 'pipe'],
      },
    );
    let output = '';
    let complaints = '';
    child.stdout.on('data', (data: Buffer) => (output += data.toString()));
    child.stderr.on('data', (data: Buffer) => (complaints += data.toString()));
    await waitFor('the child to work', () => output.includes('working'), { withinMs: 30_000 });

    const killed = await killUntil(300, 15);
    expect(child.exitCode).toBe(null);
    child.stdin.write('enough');
    const [code] = (await once(child, 'exit')) as [number | null];

    expect(complaints).toBe('');
    expect(code).toBe(0);
    const report = JSON.parse(output.slice(output.indexOf('{'))) as Record<string, number>;
    expect(report['uncaught']).toBe(0);
    expect(report['odd']).toBe(0);
    expect(report['done']).toBeGreaterThan(10);
    expect(report['lost']).toBeGreaterThan(10);
    expect(killed).toBeGreaterThanOrEqual(300);
  });
});

/** Runs statements and transactions until it is told to stop, and reports what it saw. */
const program = `
import { openDatabase } from './open-database.ts';
import { isDatabaseLost } from './database-errors.ts';

const report = { done: 0, lost: 0, odd: 0, uncaught: 0 };
process.on('uncaughtException', () => (report.uncaught += 1));
process.on('unhandledRejection', () => (report.uncaught += 1));

let running = true;
const database = openDatabase({ url: process.env.DATABASE_URL, maxConnections: 6 });
const keepOn = async (work) => {
  while (running) {
    await work().then(
      () => (report.done += 1),
      (error) => (isDatabaseLost(error) ? (report.lost += 1) : (report.odd += 1)),
    );
  }
};
const single = () => database.sql\`select i from generate_series(1, 50) as i where i > \${1}\`;
const several = () =>
  database.transaction(async (trx) => {
    await Promise.allSettled([
      trx.selectFrom('entry').selectAll().execute(),
      trx.selectFrom('entry').selectAll().execute(),
    ]);
    await trx.selectFrom('entry').selectAll().execute();
  });
await database.sql.listen('nothing', () => undefined);
const workers = [single, single, single, single, several, several, several].map(keepOn);
console.log('working');
process.stdin.once('data', async () => {
  running = false;
  await Promise.all(workers);
  await database.close();
  console.log(JSON.stringify(report));
  process.exit(0);
});
`;
