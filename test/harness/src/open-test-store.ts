import { openStore, type Store } from '@duskline/store';
import postgres from 'postgres';
import { createTestDatabase } from './create-test-database.ts';

export interface TestStore {
  readonly store: Store;
  /** Past the store: another way to the same rows. */
  readonly sql: postgres.Sql;
  readonly url: string;
  /** Another server on the same database. */
  readonly openAnother: () => Promise<Store>;
}

/**
 * Opens a store on a migrated database of its own, for the tests of one file: `beforeAll(() => openTestStore(…))`.
 *
 * @returns what takes it down again; `beforeAll` calls it when the tests are over.
 */
export async function openTestStore(
  use: (opened: TestStore) => unknown,
): Promise<() => Promise<void>> {
  const { url, drop } = await createTestDatabase();
  const stores: Store[] = [];
  const openAnother = async () => {
    const store = await openStore({ url });
    stores.push(store);
    return store;
  };
  // Connects with its first query: a test that does not ask it pays nothing.
  const sql = postgres(url, { max: 1, onnotice: () => undefined });
  const takeDown = async () => {
    await Promise.all([sql.end(), ...stores.map((store) => store.close())]);
    await drop();
  };
  try {
    await use({ store: await openAnother(), sql, url, openAnother });
  } catch (error) {
    await takeDown();
    throw error;
  }
  return takeDown;
}
