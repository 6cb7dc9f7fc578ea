import { timeQualities, type MetricKey, type NodeId, type Sample } from '@duskline/domain';
import { sql, type Kysely } from 'kysely';
import { arrayLiteral } from './array-literal.ts';
import type { CardBatch } from './card-import-store.ts';
import { holdPulse, keepConflicts, keepMissing, storedAround } from './card-merge.ts';
import { compareCard } from './compare-card.ts';
import type { Database } from './database/open-database.ts';
import type { Layouts } from './layouts.ts';
import type { Tables } from './schema.ts';

const AT_ONCE = 2000;

/** A row of a card beside a row that came by air later, with readings of the same metrics. */
interface DoubledRow {
  readonly at_ms: number;
  readonly layout_id: number;
  readonly metric_ids: readonly number[];
  readonly value_text: string;
  readonly time_quality: number | null;
  readonly received_ms: number;
  readonly import_id: number;
  readonly step_ms: number;
  readonly tolerance: Readonly<Partial<Record<MetricKey, number>>>;
}

/**
 * A card may be brought before the node sends the same past by air. What came by air is then kept and the card's row gives way,
 * but for the metrics that only the card has; where they differ, both are listed. Looks at the hours that changed.
 *
 * @returns rows of cards that gave way
 */
export async function yieldToAir(
  database: Database<Tables>,
  layouts: Layouts,
  nodeId: NodeId,
): Promise<number> {
  let given = 0;
  for (;;) {
    const rows = await database.transaction(async (trx) => {
      // Cheap where there is no card: the index of card rows is empty there.
      const doubled = await doubledRows(trx, nodeId);
      if (doubled.length === 0) return 0;
      await holdPulse(trx, nodeId);
      const held = await doubledRows(trx, nodeId);
      for (const importId of new Set(held.map((row) => row.import_id))) {
        const ofImport = held.filter((row) => row.import_id === importId);
        await giveWay(trx, layouts, { nodeId, importId, rows: ofImport });
      }
      return doubled.length;
    });
    given += rows;
    if (rows < AT_ONCE) return given;
  }
}

async function doubledRows(db: Kysely<Tables>, nodeId: NodeId): Promise<readonly DoubledRow[]> {
  const { rows } = await sql<DoubledRow>`
    select (extract(epoch from card.observed_at) * 1000)::float8 as at_ms, card.layout_id, layout.metric_ids,
      card.values::text as value_text, card.time_quality,
      (extract(epoch from card.received_at) * 1000)::float8 as received_ms, card.card_import_id as import_id,
      rule.step_ms, coalesce(card_import.merge_rule -> 'tolerance', '{}') as tolerance
    from stale_hour hour
    join sample card on card.node_id = hour.node_id and card.card_import_id is not null
      and card.observed_at >= hour.hour_start and card.observed_at < hour.hour_start + interval '1 hour'
    join layout on layout.id = card.layout_id
    join card_import on card_import.id = card.card_import_id
    cross join lateral (
      select coalesce((card_import.merge_rule ->> 'timeStepMs')::float8, 0) as step_ms
    ) rule
    where hour.node_id = ${nodeId} and card.node_id = ${nodeId}
      and exists (
        select from layout air_layout
        join sample air on air.layout_id = air_layout.id
        where air.node_id = ${nodeId} and air.card_import_id is null
          and air.observed_at >= card.observed_at - rule.step_ms / 2 * interval '1 millisecond'
          -- A hair more than the instant itself where the step is 0.
          and air.observed_at < card.observed_at + greatest(rule.step_ms, 0.001) * interval '1 millisecond'
          and air_layout.metric_ids && layout.metric_ids
      )
    order by card.observed_at, card.layout_id
    limit ${AT_ONCE}`.execute(db);
  return rows;
}

async function giveWay(
  db: Kysely<Tables>,
  layouts: Layouts,
  {
    nodeId,
    importId,
    rows,
  }: { readonly nodeId: NodeId; readonly importId: number; readonly rows: readonly DoubledRow[] },
): Promise<void> {
  const samples = await Promise.all(
    rows.map(async (row): Promise<Sample> => ({
      observedAtMs: row.at_ms,
      metrics: (await Promise.all(
        row.metric_ids.map((id) => layouts.metricKey(id)),
      )) as readonly MetricKey[],
      values: row.value_text.slice(1, -1).split(',').map(Number),
      timeQuality: timeQualities[row.time_quality ?? 0] ?? 'synced',
    })),
  );
  const [first] = rows;
  const batch: CardBatch = {
    importId,
    nodeId,
    samples,
    receivedAtMs: first?.received_ms ?? 0,
    tolerance: new Map(Object.entries(first?.tolerance ?? {}) as [MetricKey, number][]),
    timeStepMs: first?.step_ms ?? 0,
  };
  await sql`
    delete from sample using unnest(
      ${arrayLiteral(rows.map(({ at_ms }) => at_ms))}::float8[],
      ${arrayLiteral(rows.map(({ layout_id }) => layout_id))}::integer[]
    ) gone (at_ms, layout_id)
    where sample.node_id = ${nodeId} and sample.observed_at = to_timestamp(gone.at_ms / 1000)
      and sample.layout_id = gone.layout_id and sample.card_import_id = ${importId}`.execute(db);
  const { missing, conflicts } = compareCard(batch, await storedAround(db, layouts, batch));
  if (missing.length > 0) {
    await layouts.ensure(missing.map((sample) => sample.metrics));
    await keepMissing(db, layouts, { missing, batch });
  }
  await keepConflicts(db, layouts, { conflicts, batch });
}
