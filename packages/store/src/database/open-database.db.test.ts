import { createTestDatabase, type TestDatabase } from '@duskline/test-harness';
import { sql as statement } from 'kysely';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { isDatabaseLost } from './database-errors.ts';
import { epochMs, instant } from './epoch-ms.ts';
import { openDatabase, type Database } from './open-database.ts';

interface Tables {
  note: { id: number; words: string };
}

let home: TestDatabase;
let database: Database<Tables>;

beforeAll(async () => {
  home = await createTestDatabase({ migrated: false });
  database = openDatabase<Tables>({ url: home.url, maxConnections: 4 });
  await database.sql`create table note (id int primary key, words text not null)`;
});

afterAll(async () => {
  await database.close();
  await home.drop();
});

beforeEach(async () => {
  await database.sql`truncate note`;
});

describe('values', () => {
  it('of int8, count and numeric arrive as numbers', async () => {
    const [row] = await database.sql`
      select 9007199254740991::int8 as big, count(*) as counted, sum(x::int8) as total,
             1.25::numeric as exact
      from generate_series(1, 4) as x`;
    expect(row).toEqual({ big: 9_007_199_254_740_991, counted: 4, total: 10, exact: 1.25 });
  });

  it('beyond what a number holds are refused, and the connection goes on', async () => {
    await expect(database.sql`select 9007199254740993::int8 as big`).rejects.toMatchObject({
      code: 'unsafe-integer',
    });
    expect(await database.sql`select 1 as one`).toEqual([{ one: 1 }]);
  });

  it('of timestamptz are epoch milliseconds both ways', async () => {
    // 2026-11-25T12:00:00.250Z in seconds since 1970 by `date -u -d @1795608000`.
    const atMs = 1_795_608_000_250;
    const [row] = await database.sql`
      select '2026-11-25 12:00:00.25+00'::timestamptz as read,
             extract(epoch from ${atMs}::timestamptz)::float8 as seconds_bound`;
    expect(row).toEqual({ read: atMs, seconds_bound: atMs / 1000 });
    const built = await database.kysely
      .selectNoFrom([
        epochMs(statement`'2026-11-25 12:00:00.25+00'::timestamptz`).as('ms'),
        epochMs(instant(atMs)).as('there_and_back'),
      ])
      .executeTakeFirstOrThrow();
    expect(built).toEqual({ ms: atMs, there_and_back: atMs });
  });

  it('of arrays arrive as Postgres itself would spell them in JSON', async () => {
    const words = ['plain', '', 'a "quote"', 'back\\slash', '{brace}', 'NULL', 'comma, here', 'é☀'];
    const [row] = await database.sql`
      select ${words}::text[] as read, to_json(${words}::text[]) as json,
             ${[1.5, null, -2e-7]}::float8[] as numbers, ${[1, 2]}::int8[] as integers,
             ${database.sql.array([true, false], 16)}::bool[] as flags, '{}'::int[] as none,
             ${[0, 1_795_608_000_250]}::timestamptz[] as instants,
             '{{1,2},{3,4}}'::int[] as nested`;
    expect(row).toMatchObject({ read: words, json: words });
    expect(row).toMatchObject({ numbers: [1.5, null, -2e-7], integers: [1, 2], none: [] });
    expect(row).toMatchObject({ flags: [true, false], instants: [0, 1_795_608_000_250] });
    expect(row).toMatchObject({
      nested: [
        [1, 2],
        [3, 4],
      ],
    });
  });

  it('of jsonb and bytea go in and out as they are', async () => {
    const facts = { charge: 0.5, names: ['Tarn Gill'], nothing: null };
    const bytes = Uint8Array.from([0, 1, 127, 128, 255]);
    const [row] = await database.kysely
      .selectNoFrom([
        statement<unknown>`${facts}::jsonb`.as('facts'),
        statement<string>`jsonb_typeof(${facts}::jsonb)`.as('kind'),
        statement<Uint8Array>`${bytes}::bytea`.as('bytes'),
        statement<string>`encode(${bytes}::bytea, 'hex')`.as('hex'),
      ])
      .execute();
    expect(row).toMatchObject({ facts, kind: 'object', hex: '00017f80ff' });
    expect([...(row?.bytes ?? [])]).toEqual([...bytes]);
  });
});

describe('a statement that fails among its rows', () => {
  it('leaves no trace in the next result of its connection', async () => {
    const single = openDatabase<Tables>({ url: home.url, maxConnections: 2 });
    const failing = single.sql`select 10 / (5 - i) as v from generate_series(1, 9) as i`;
    await expect(failing).rejects.toMatchObject({ code: '22012' });
    for (const result of [
      await single.sql`select i from generate_series(1, 3) as i`,
      (await statement`select i from generate_series(1, 3) as i`.execute(single.kysely)).rows,
    ]) {
      expect([...result]).toEqual([{ i: 1 }, { i: 2 }, { i: 3 }]);
    }
    await single.close();
  });

  it('inside a transaction leaves none there either, and nothing is committed', async () => {
    const work = database.transaction(async (trx) => {
      await trx.insertInto('note').values({ id: 1, words: 'kept?' }).execute();
      await statement`select 10 / (5 - i) as v from generate_series(1, 9) as i`
        .execute(trx)
        .catch(() => undefined);
    });
    await expect(work).rejects.toMatchObject({ code: 'transaction-lost', outcome: 'rolled-back' });
    expect(await database.sql`select * from note`).toEqual([]);
  });
});

describe('a transaction', () => {
  it('commits what its work did, statements given at once included', async () => {
    const said = await database.transaction(async (trx) => {
      await Promise.all(
        [1, 2, 3].map((id) => trx.insertInto('note').values({ id, words: 'x' }).execute()),
      );
      return 'done';
    });
    expect(said).toBe('done');
    expect(await database.sql`select id from note order by id`).toEqual([
      { id: 1 },
      { id: 2 },
      { id: 3 },
    ]);
  });

  it('undoes everything when its work throws, and throws the same', async () => {
    const fault = new Error('changed my mind');
    const work = database.transaction(async (trx) => {
      await trx.insertInto('note').values({ id: 1, words: 'x' }).execute();
      throw fault;
    });
    await expect(work).rejects.toBe(fault);
    expect(await database.sql`select * from note`).toEqual([]);
  });

  it('tells a constraint that fails at COMMIT by its own code', async () => {
    await database.sql`create table late (id int unique deferrable initially deferred)`;
    const work = database.transaction(async (trx) => {
      await statement`insert into late values (1), (1)`.execute(trx);
    });
    await expect(work).rejects.toMatchObject({ code: '23505' });
  });

  it('hands rows over in chunks while other statements wait', async () => {
    const seen: number[] = [];
    await database.transaction(async (trx) => {
      const rows = trx
        .selectFrom(statement<{ i: number }>`generate_series(1, 25)`.as<'g'>(statement`g(i)`))
        .select(statement<number>`g.i`.as('i'))
        .stream(10);
      for await (const { i } of rows) seen.push(i);
      await trx.insertInto('note').values({ id: 1, words: 'after' }).execute();
    });
    expect(seen).toEqual(Array.from({ length: 25 }, (_, i) => i + 1));
  });

  it('cannot be begun behind our back', () => {
    expect(() => database.sql.begin(() => 1)).toThrow('Use transaction()');
    expect(() => database.sql.reserve()).toThrow('Use transaction()');
  });
});

describe('the pool', () => {
  it('never opens more connections than allowed, and lets statements pass transactions', async () => {
    const small = openDatabase<Tables>({
      url: `${home.url}?application_name=small`,
      maxConnections: 3,
    });
    const slow = Array.from({ length: 6 }, () =>
      small.transaction((trx) => statement`select pg_sleep(0.05)`.execute(trx)),
    );
    const quick = Array.from({ length: 20 }, () => small.sql`select 1 as one`);
    const [open] = await small.sql`
      select count(*) as connections from pg_stat_activity where datname = current_database()
      and application_name = current_setting('application_name')`;
    await Promise.all([...slow, ...quick]);
    expect(open?.['connections']).toBeLessThanOrEqual(3);
    await small.close();
  });

  it('lets a running statement end before it closes, and refuses later ones', async () => {
    const closing = openDatabase<Tables>({ url: home.url });
    const running = closing.sql`select 'done' as said from pg_sleep(0.3)`;
    const seen = running.then((rows) => rows[0]?.['said'] as unknown);
    await new Promise((resolve) => setTimeout(resolve, 100));
    await closing.close();
    expect(await seen).toBe('done');
    await expect(closing.sql`select 1`).rejects.toMatchObject({ code: 'database-closed' });
    await expect(closing.transaction(() => Promise.resolve())).rejects.toMatchObject({
      code: 'database-closed',
    });
  });

  it('rejects statements of an unreachable server as lost, at once', async () => {
    const nowhere = openDatabase<Tables>({ url: 'postgres://nobody@127.0.0.1:1/nothing' });
    const error = await nowhere.sql`select 1`.catch((caught: unknown) => caught);
    expect(isDatabaseLost(error)).toBe(true);
    await nowhere.close();
  });

  it('hands COPY out through its own connections', async () => {
    const out = await database.sql`copy (select generate_series(1, 3)) to stdout`.readable();
    let text = '';
    for await (const chunk of out) text += String(chunk);
    expect(text).toBe('1\n2\n3\n');
  });
});
