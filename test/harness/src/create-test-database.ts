import { randomBytes } from 'node:crypto';
import postgres from 'postgres';

export interface TestDatabase {
  readonly url: string;
  /** Ends whoever is still connected and removes the database. */
  readonly drop: () => Promise<void>;
}

/**
 * Creates a database for one test file, migrated to the newest schema, on the server that the run started.
 *
 * @param options.migrated `false` for an empty one; default true.
 */
export async function createTestDatabase(
  options: { readonly migrated?: boolean } = {},
): Promise<TestDatabase> {
  const { adminUrl, template: migrated } = await testRunServer();
  const template = options.migrated === false ? undefined : migrated;
  const name = `duskline_test_${randomBytes(6).toString('hex')}`;
  const url = await createDatabase(adminUrl, name, template);
  return { url, drop: () => dropDatabase(adminUrl, name) };
}

/** The server that this test run started, and the migrated database on it. Only inside a test run. */
export async function testRunServer(): Promise<{
  readonly adminUrl: string;
  readonly template: string;
}> {
  const { inject } = await import('vitest');
  return { adminUrl: inject('databaseAdminUrl'), template: inject('templateDatabase') };
}

/**
 * @param template the database to copy; nobody may be connected to it. Without it the new one is empty.
 * @returns the URL of the new database.
 */
export async function createDatabase(
  adminUrl: string,
  name: string,
  template = 'template0',
): Promise<string> {
  await asAdmin(adminUrl, async (admin) => {
    await admin`create database ${admin(name)} template ${admin(template)}`;
  });
  const url = new URL(adminUrl);
  url.pathname = `/${name}`;
  return url.href;
}

export async function dropDatabase(adminUrl: string, name: string): Promise<void> {
  await asAdmin(adminUrl, async (admin) => {
    await admin`drop database if exists ${admin(name)} with (force)`;
  });
}

async function asAdmin(
  adminUrl: string,
  work: (admin: postgres.Sql) => Promise<void>,
): Promise<void> {
  const admin = postgres(adminUrl, { max: 1, fetch_types: false, onnotice: () => undefined });
  try {
    await work(admin);
  } finally {
    await admin.end({ timeout: 5 });
  }
}
