import { Migrator } from 'kysely';
import { openDatabase } from './database/open-database.ts';
import { MigrationError } from './errors.ts';
import { migrations } from './migrations/index.ts';

/**
 * Brings a database to the schema of this program. Several may run at once: one migrates, the others
 * wait and find nothing to do.
 *
 * @param url of the database, which must exist; an account that may create tables in it.
 * @throws MigrationError naming the migration that failed; nothing of that run is kept.
 */
export async function migrateStore(url: string): Promise<void> {
  const database = openDatabase<unknown>({ url, maxConnections: 2 });
  try {
    const migrator = new Migrator({
      db: database.kysely,
      provider: { getMigrations: () => Promise.resolve({ ...migrations }) },
      // Numbers are given out before the work is done: 0022 may come after 0023. None rests on another that is later in number.
      allowUnorderedMigrations: true,
    });
    const { error, results } = await migrator.migrateToLatest();
    if (error === undefined) return;
    const failed = results?.find((result) => result.status === 'Error');
    throw new MigrationError(
      failed === undefined
        ? 'The database could not be migrated.'
        : `The migration ${failed.migrationName} failed.`,
      { cause: error },
    );
  } finally {
    await database.close();
  }
}
