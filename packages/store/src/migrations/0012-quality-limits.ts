import { sql, type Kysely, type Migration } from 'kysely';

/** Limits of the quality tests that people set over the defaults, for a site or a node. */
export const qualityLimits: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    await sql`
      create table quality_limits (
        scope  text not null check (scope in ('site', 'node')),
        -- The site's id or the node's name.
        name   text not null,
        limits jsonb not null check (jsonb_typeof(limits) = 'object'),
        set_by text not null,
        set_at timestamptz not null,
        primary key (scope, name)
      )`.execute(db);
  },
};
