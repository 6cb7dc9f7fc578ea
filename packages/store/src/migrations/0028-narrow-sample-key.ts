import { sql, type Kysely, type Migration } from 'kysely';

/**
 * Samples in fewer bytes: the same columns in an order without padding, and a key of sixteen bytes.
 *
 * A key of (node, time, layout) takes 24 bytes, for time is aligned to eight. Postgres fills the pages of a B-tree into which
 * many nodes append only for keys of two eight-byte columns or less (`_bt_afternewitemoff` of src/backend/access/nbtree/nbtsplitloc.c,
 * PostgreSQL 12 and later); wider ones it splits in the middle and leaves half empty for good. (node, layout, time) takes 16.
 */
export const narrowSampleKey: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    await sql`lock table sample in access exclusive mode`.execute(db);
    await sql`alter table sample rename to sample_before`.execute(db);
    await sql`
      create table sample_narrow (
        node_id        integer not null,
        layout_id      integer not null,
        observed_at    timestamptz not null,
        received_at    timestamptz not null,
        -- Null: synced. Else the place in timeQualities of the domain.
        time_quality   smallint,
        "values"       double precision[] not null,
        -- Null: every value passed. Else one flag for each value.
        flags          smallint[],
        -- Null: came by air.
        card_import_id integer
      ) partition by range (observed_at)`.execute(db);
    // Month by month, and in the order of the new key, so that its pages are full; the old month makes room for the next one's
    // name. Keys come after the rows.
    await sql`
      do $$
      declare month record;
      begin
        for month in
          select class.relname as name, pg_get_expr(class.relpartbound, class.oid) as bound
          from pg_inherits join pg_class class on class.oid = inhrelid
          where inhparent = 'sample_before'::regclass
          order by class.relname
        loop
          execute format('alter table sample_before detach partition %I', month.name);
          execute format('alter table %I rename to sample_month_before', month.name);
          execute format('create table %I partition of sample_narrow %s', month.name, month.bound);
          execute format(
            'insert into %I (node_id, layout_id, observed_at, received_at, time_quality, "values", flags, card_import_id)
              select node_id, layout_id, observed_at, received_at, time_quality, "values", flags, card_import_id
              from sample_month_before
              order by node_id, layout_id, observed_at', month.name);
          drop table sample_month_before;
        end loop;
      end $$`.execute(db);
    await sql`drop table sample_before`.execute(db);
    await sql`alter table sample_narrow rename to sample`.execute(db);
    await sql`
      alter table sample add constraint sample_pkey primary key (node_id, layout_id, observed_at)`.execute(
      db,
    );
    // Of the samples of cards only: what comes by air never touches it.
    await sql`
      create index sample_of_card on sample (node_id, observed_at) where card_import_id is not null`.execute(
      db,
    );
    await sql`analyze sample`.execute(db);
  },
};
