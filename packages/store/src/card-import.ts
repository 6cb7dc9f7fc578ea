import { nodeId, type AcceptedMessage, type MetricKey, type NodeName } from '@duskline/domain';
import { sql } from 'kysely';
import { storableJson, storableText } from './array-literal.ts';
import type { CardBatch, CardConflict, CardImport, CardImportStore } from './card-import-store.ts';
import { holdPulse, keepConflicts, keepMissing, storedAround } from './card-merge.ts';
import { yieldToAir } from './card-yield.ts';
import { compareCard } from './compare-card.ts';
import type { Database } from './database/open-database.ts';
import type { Layouts } from './layouts.ts';
import { createSampleMonths } from './sample-months.ts';
import type { Tables } from './schema.ts';

export function createCardImportStore(
  database: Database<Tables>,
  layouts: Layouts,
): CardImportStore {
  const { kysely } = database;
  const months = createSampleMonths(database.sql);

  async function ensure({ nodeId: node, samples, receivedAtMs }: CardBatch): Promise<void> {
    const carrier: AcceptedMessage = {
      node: String(node) as NodeName,
      lane: 'backlog',
      samples,
      receivedAtMs,
    };
    await months.ensure([carrier]);
  }

  async function select(where: {
    readonly id?: number;
    readonly limit: number;
  }): Promise<readonly CardImport[]> {
    const { rows } = await sql<CardImportRow>`
      select card_import.*, node.name as node, site.name as site_name, site.time_zone
      from card_import
      join node on node.id = card_import.node_id
      join site on site.id = node.site_id
      where ${where.id ?? null}::integer is null or card_import.id = ${where.id ?? null}::integer
      order by card_import.id desc
      limit ${where.limit}`.execute(kysely);
    return rows.map(importOf);
  }

  return {
    async create({ nodeId: node, by, files }) {
      const { rows } = await sql<{ id: number }>`
        insert into card_import (node_id, state, by_name, files)
        values (${node}, 'open', ${storableText(by)}, ${storableJson(files)}::text::jsonb)
        returning id`.execute(kysely);
      const [made] = await select({ id: rows[0]?.id ?? 0, limit: 1 });
      if (made === undefined) throw new Error(`The import for node ${node} was not made.`);
      return made;
    },
    find: async (id) => (await select({ id, limit: 1 }))[0],
    recent: (limit) => select({ limit }),
    async change(id, { state, from, files, settings, note }) {
      const { rows } = await sql`
        update card_import set state = ${state}, changed_at = now(), note = ${note ?? null}::text,
          files = coalesce(${files === undefined ? null : storableJson(files)}::text::jsonb, files),
          settings = coalesce(${settings === undefined ? null : storableJson(settings)}::text::jsonb, settings)
        where id = ${id}::integer and state = any(${[...from]}::text[])
        returning id`.execute(kysely);
      return rows.length > 0;
    },
    async remove(id) {
      const { rows } = await sql`
        delete from card_import
        where id = ${id}::integer and state <> 'storing' and filled = 0 and conflicts = 0
        returning id`.execute(kysely);
      return rows.length > 0;
    },
    async merge(batch) {
      await ensure(batch);
      return await database.transaction(async (trx) => {
        await holdPulse(trx, batch.nodeId);
        const stored = await storedAround(trx, layouts, batch);
        const { missing, conflicts, counts } = compareCard(batch, stored);
        if (missing.length > 0) {
          await layouts.ensure(missing.map((sample) => sample.metrics));
          await keepMissing(trx, layouts, { missing, batch });
        }
        await keepConflicts(trx, layouts, { conflicts, batch });
        await sql`
          update card_import set filled = filled + ${counts.filled}, here = here + ${counts.here},
            conflicts = conflicts + ${counts.conflicts}, repeated = repeated + ${counts.repeated}, changed_at = now(),
            merge_rule = ${storableJson({ timeStepMs: batch.timeStepMs, tolerance: Object.fromEntries(batch.tolerance) })}::text::jsonb
          where id = ${batch.importId}`.execute(trx);
        return counts;
      });
    },
    yieldToAir: (node) => yieldToAir(database, layouts, node),
    async compare(batch) {
      return compareCard(batch, await storedAround(kysely, layouts, batch)).counts;
    },
    async conflicts(id, { limit, skip }) {
      const { rows } = await sql<CardConflict & { metric: MetricKey }>`
        select metric.key as metric, observed_at as "observedAtMs", kept_value as "keptValue",
          card_value as "cardValue"
        from card_conflict
        join metric on metric.id = card_conflict.metric_id
        where import_id = ${id}::integer
        order by observed_at, metric.key, card_value
        limit ${limit} offset ${skip}`.execute(kysely);
      return rows;
    },
  };
}

interface CardImportRow {
  readonly id: number;
  readonly node_id: number;
  readonly node: NodeName;
  readonly site_name: string;
  readonly time_zone: string;
  readonly state: CardImport['state'];
  readonly by_name: string;
  readonly created_at: number;
  readonly changed_at: number;
  readonly files: CardImport['files'];
  readonly settings: unknown;
  readonly filled: number;
  readonly here: number;
  readonly conflicts: number;
  readonly repeated: number;
  readonly note: string | null;
}

const importOf = (row: CardImportRow): CardImport => ({
  id: row.id,
  nodeId: nodeId(row.node_id),
  node: row.node,
  siteName: row.site_name,
  siteZone: row.time_zone,
  state: row.state,
  by: row.by_name,
  createdAtMs: row.created_at,
  changedAtMs: row.changed_at,
  files: row.files,
  settings: row.settings,
  counts: {
    filled: row.filled,
    here: row.here,
    conflicts: row.conflicts,
    repeated: row.repeated,
  },
  ...(row.note === null ? {} : { note: row.note }),
});
