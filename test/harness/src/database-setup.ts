import { migrateStore } from '@duskline/store';
import { randomBytes } from 'node:crypto';
import type { TestProject } from 'vitest/node';
import { createDatabase, dropDatabase } from './create-test-database.ts';
import { startTestPostgres } from './start-test-postgres.ts';

declare module 'vitest' {
  export interface ProvidedContext {
    /** Where test databases are created. */
    readonly databaseAdminUrl: string;
    /** The migrated database they are copied from. */
    readonly templateDatabase: string;
  }
}

/**
 * What vitest runs once before the tests of a project that need a database: starts a Postgres, says which, and makes the
 * migrated database that every test file gets a copy of.
 *
 * @returns what is to be done after the last test.
 */
export default async function setUpDatabase(project: TestProject): Promise<() => Promise<void>> {
  const startedAtMs = Date.now();
  const server = await startTestPostgres();
  const template = `duskline_template_${randomBytes(4).toString('hex')}`;
  try {
    const url = await createDatabase(server.adminUrl, template);
    await migrateStore(url);
  } catch (error) {
    await server.stop();
    throw error;
  }
  project.provide('databaseAdminUrl', server.adminUrl);
  project.provide('templateDatabase', template);
  console.log(`Test databases: ${server.description}; ready in ${Date.now() - startedAtMs} ms.`);
  return async () => {
    await dropDatabase(server.adminUrl, template);
    await server.stop();
  };
}
