import { sql, type Kysely, type Migration } from 'kysely';

/** How right each outlook was. The row is made with the outlook and filled in when its time has come. */
export const outlookScores: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    await sql`
      create table outlook_score (
        node_id   integer not null,
        issued_at timestamptz not null,
        hindcast  boolean not null,
        -- 'empty': days to empty; 'return': days until a dark node is back.
        of        text not null check (of in ('empty', 'return')),
        -- When it is looked at next; null: it is graded to its end.
        due_at    timestamptz,
        -- What was foretold: equally likely days (infinity: beyond the horizon), the chance within 7 days before and after
        -- recalibration, and what the simple ways said at the same moment.
        horizon_days double precision not null,
        days      double precision[] not null,
        raw_chance7 double precision not null,
        chance7   double precision not null,
        baselines jsonb not null check (jsonb_typeof(baselines) = 'object'),
        -- What came: null while it is open or cannot be known.
        graded_at    timestamptz,
        outcome      text check (outcome in ('happened', 'did-not', 'unknown')),
        outcome_days double precision,
        happened7    boolean,
        -- How good it was.
        figures   jsonb check (jsonb_typeof(figures) = 'object'),
        primary key (node_id, issued_at, hindcast),
        check (due_at is not null or outcome is not null)
      ) with (fillfactor = 80)`.execute(db);
    await sql`create index outlook_score_due on outlook_score (due_at) where due_at is not null`.execute(
      db,
    );
    await sql`
      create index outlook_score_open on outlook_score (node_id, issued_at) where due_at is not null`.execute(
      db,
    );

    // How far a node's past was gone through for hindcasts, and how many days of it were known then.
    await sql`
      create table hindcast_mark (
        node_id     integer primary key,
        days_known integer not null,
        marked_at   timestamptz not null
      )`.execute(db);

    await sql`
      create table recalibration (
        fitted_at timestamptz primary key,
        outcomes  integer not null,
        body      jsonb not null check (jsonb_typeof(body) = 'object')
      )`.execute(db);
  },
};
