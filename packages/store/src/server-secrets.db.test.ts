import { createTestDatabase, type TestDatabase } from '@duskline/test-harness';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { openStore, type Store } from './index.ts';

let database: TestDatabase;
let stores: Store[];
beforeAll(async () => {
  database = await createTestDatabase();
  stores = await Promise.all([1, 2].map(() => openStore({ url: database.url })));
});
afterAll(async () => {
  await Promise.all(stores.map((store) => store.close()));
  await database.drop();
});

it('is the same for every server, whoever offered first', async () => {
  const got = await Promise.all(
    stores.flatMap((store, i) =>
      [1, 2, 3].map((n) => store.serverSecrets.keep('push', `${i}${n}`)),
    ),
  );
  expect(new Set(got).size).toBe(1);
  expect(await stores[0]?.serverSecrets.keep('push', 'later')).toBe(got[0]);
  expect(await stores[0]?.serverSecrets.keep('other', 'x')).toBe('x');
});
