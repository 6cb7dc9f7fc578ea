import { nodeId, type FieldNode, type NodeId, type NodeWord } from '@duskline/domain';
import type { Kysely, Selectable } from 'kysely';
import type { Sql } from 'postgres';
import { storableJson } from './array-literal.ts';
import { refusingConflicts } from './conflicts.ts';
import type { Tables } from './schema.ts';
import type { NodeFacts, NodeStore } from './store.ts';

export function createNodeStore(sql: Sql, db: Kysely<Tables>): NodeStore {
  return {
    async list() {
      const rows = await db.selectFrom('node').selectAll().orderBy('name').execute();
      return rows.map(nodeOf);
    },
    async find(id) {
      const row = await db.selectFrom('node').selectAll().where('id', '=', id).executeTakeFirst();
      return row && nodeOf(row);
    },
    async findByName(name) {
      const row = await db
        .selectFrom('node')
        .selectAll()
        .where('name', '=', name)
        .executeTakeFirst();
      return row && nodeOf(row);
    },
    async create(node, secretHash) {
      const work = node.offForWork === undefined ? null : storableJson(node.offForWork);
      const plan = node.dataPlan === undefined ? null : storableJson(node.dataPlan);
      const [made] = await refusingConflicts(
        `There is a node ${node.name} already, or no site ${node.siteId}.`,
        () => sql<{ node_id: number }[]>`
          with made as (
            insert into node (name, site_id, secret_hash, power, commissioned_at, retired_at, off_for_work, link, data_plan)
            values (
              ${node.name}, ${node.siteId}, ${secretHash}, ${storableJson(node.power)}::text::jsonb,
              to_timestamp(${node.commissionedAtMs}::float8 / 1000),
              to_timestamp(${node.retiredAtMs ?? null}::float8 / 1000), ${work}::text::jsonb,
              ${node.link ?? null}, ${plan}::text::jsonb
            )
            returning id
          )
          insert into node_pulse (node_id) select id from made returning node_id`,
      );
      if (made === undefined) throw new Error(`The node ${node.name} got no number.`);
      return { ...node, id: nodeId(made.node_id) };
    },
    async secretHash(name) {
      const row = await db
        .selectFrom('node')
        .select('secret_hash')
        .where('name', '=', name)
        .executeTakeFirst();
      return row?.secret_hash;
    },
    async setSecretHash(name, hash) {
      const { numUpdatedRows } = await db
        .updateTable('node')
        .set({ secret_hash: hash })
        .where('name', '=', name)
        .executeTakeFirst();
      return numUpdatedRows > 0n;
    },
    async facts(id) {
      const [row] = await sql<PulseRow[]>`
        select first_heard_at, last_heard_at, last_live_at, last_received_at, last_observed_at, word,
          news_version, advanced_version, (
          select percentile_cont(0.5) within group (order by gap_ms) filter (where gap_ms > 0)
          from (
            select extract(epoch from observed_at - lag(observed_at) over (order by observed_at))::float8 * 1000 as gap_ms
            from (
              select last_of_layout.observed_at
              from node_latest
              cross join lateral (
                select observed_at from sample
                where node_id = ${id} and layout_id = node_latest.layout_id
                order by observed_at desc
                limit 50
              ) last_of_layout
              where node_latest.node_id = ${id}
              order by observed_at desc
              limit 50
            ) last_samples
          ) gaps
          having count(*) filter (where gap_ms > 0) >= 2
        ) as usual_gap_ms
        from node_pulse
        where node_id = ${id}`;
      if (row === undefined) throw new Error(`There is no node ${id}.`);
      return factsOf(row);
    },
    async neighbours(of, sinceMs) {
      const [row] = await sql<{ expected: number; heard: number }[]>`
        select count(*) as expected,
          count(*) filter (where last_heard_at > to_timestamp(${sinceMs}::float8 / 1000)) as heard
        from node_pulse
        join node on node.id = node_pulse.node_id
        where node.id <> ${of} and node.retired_at is null and last_heard_at is not null`;
      return row ?? { expected: 0, heard: 0 };
    },
    async due(nowMs, limit) {
      const rows = await sql<{ nodeId: NodeId }[]>`
        select node_id as "nodeId"
        from node_pulse
        where news_version > advanced_version or next_check_at <= to_timestamp(${nowMs}::float8 / 1000)
        order by next_check_at, node_id
        limit ${limit}`;
      return rows.map((row) => row.nodeId);
    },
  };
}

export const nodeOf = (row: Omit<Selectable<Tables['node']>, 'secret_hash'>): FieldNode => ({
  id: nodeId(row.id),
  name: row.name,
  siteId: row.site_id,
  power: row.power,
  commissionedAtMs: row.commissioned_at,
  ...(row.retired_at === null ? {} : { retiredAtMs: row.retired_at }),
  ...(row.off_for_work === null ? {} : { offForWork: row.off_for_work }),
  ...(row.link === null ? {} : { link: row.link }),
  ...(row.data_plan === null ? {} : { dataPlan: row.data_plan }),
});

interface PulseRow {
  readonly first_heard_at: number | null;
  readonly last_heard_at: number | null;
  readonly last_live_at: number | null;
  readonly last_received_at: number | null;
  readonly last_observed_at: number | null;
  readonly word: NodeWord | null;
  readonly news_version: number;
  readonly advanced_version: number;
  readonly usual_gap_ms: number | null;
}

const factsOf = (row: PulseRow): NodeFacts => ({
  ...(row.first_heard_at === null ? {} : { firstHeardAtMs: row.first_heard_at }),
  ...(row.last_heard_at === null ? {} : { lastHeardAtMs: row.last_heard_at }),
  ...(row.last_live_at === null ? {} : { lastLiveAtMs: row.last_live_at }),
  ...(row.last_received_at === null ? {} : { lastReceivedAtMs: row.last_received_at }),
  ...(row.last_observed_at === null ? {} : { lastObservedAtMs: row.last_observed_at }),
  ...(row.word === null ? {} : { lastWord: row.word }),
  newsVersion: row.news_version,
  advancedVersion: row.advanced_version,
  ...(row.usual_gap_ms === null ? {} : { usualGapSeenMs: row.usual_gap_ms }),
});
