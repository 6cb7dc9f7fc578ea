import { sql, type Kysely, type Migration } from 'kysely';

/** A pause that ended left alerts that nobody had and somebody did: they are whose they were. */
export const whoseAnAlertIs: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    await sql`update alert set state = 'taken' where state = 'new' and taken_by is not null`.execute(
      db,
    );
    await sql`
      alter table alert add constraint new_is_nobodys check (state <> 'new' or taken_by is null)`.execute(
      db,
    );
  },
};
