import { timeQualities, type MetricKey, type NodeId } from '@duskline/domain';
import { sql, type Kysely } from 'kysely';
import { requireStorable } from './accept-batch.ts';
import { arrayLiteral } from './array-literal.ts';
import type { CardBatch } from './card-import-store.ts';
import { stretchesOf, type CardComparison, type StoredSample } from './compare-card.ts';
import type { Layouts } from './layouts.ts';
import type { Tables } from './schema.ts';

/** The rows of a node around the samples of a batch, by time. */
export async function storedAround(
  db: Kysely<Tables>,
  layouts: Layouts,
  { nodeId, samples, timeStepMs }: Pick<CardBatch, 'nodeId' | 'samples' | 'timeStepMs'>,
): Promise<readonly StoredSample[]> {
  const stretches = stretchesOf(samples, timeStepMs);
  const { rows } = await sql<{ at_ms: number; metric_ids: readonly number[]; value_text: string }>`
    select (extract(epoch from sample.observed_at) * 1000)::float8 as at_ms, layout.metric_ids,
      sample.values::text as value_text
    from unnest(
      ${arrayLiteral(stretches.map(([fromMs]) => fromMs))}::float8[],
      ${arrayLiteral(stretches.map(([, toMs]) => toMs))}::float8[]
    ) stretch (from_ms, to_ms)
    cross join lateral (
      select * from sample
      where node_id = ${nodeId}
        and layout_id = any(array(select id from layout))
        and observed_at between to_timestamp(from_ms / 1000) and to_timestamp(to_ms / 1000)
      -- Keeps the planner from joining after reading the whole of the node, which it tries without statistics.
      offset 0
    ) sample
    join layout on layout.id = sample.layout_id
    order by sample.observed_at`.execute(db);
  const keysOf = new Map<string, readonly (MetricKey | undefined)[]>();
  const stored: StoredSample[] = [];
  for (const { at_ms, metric_ids, value_text } of rows) {
    const name = metric_ids.join();
    let keys = keysOf.get(name);
    if (keys === undefined) {
      keys = await Promise.all(metric_ids.map((id) => layouts.metricKey(id)));
      keysOf.set(name, keys);
    }
    stored.push({
      observedAtMs: at_ms,
      // A metric that this program does not know stays in its place.
      metrics: keys as readonly MetricKey[],
      values: value_text.slice(1, -1).split(',').map(Number),
    });
  }
  return stored;
}

/** Held to the end of the transaction: no message of the node comes in between looking and writing. */
export async function holdPulse(db: Kysely<Tables>, node: NodeId): Promise<void> {
  const { rows } = await sql`
    select from node_pulse where node_id = ${node} for update`.execute(db);
  if (rows.length === 0) throw new Error(`There is no node ${node}.`);
}

/**
 * Writes what is missing, with all that hangs on a sample but the word that the node was heard: it was not, its card was.
 */
export async function keepMissing(
  db: Kysely<Tables>,
  layouts: Layouts,
  { missing, batch }: { readonly missing: CardComparison['missing']; readonly batch: CardBatch },
): Promise<void> {
  const { nodeId, importId, receivedAtMs } = batch;
  for (const sample of missing) requireStorable(sample, { node: `node ${nodeId}` });
  await sql`
    with kept as (
      insert into sample (node_id, observed_at, layout_id, time_quality, received_at, values, card_import_id)
      select ${nodeId}::integer, to_timestamp(observed_ms / 1000), layout_id, time_quality,
        to_timestamp(${receivedAtMs}::float8 / 1000), value_text::double precision[], ${importId}::integer
      from unnest(
        ${arrayLiteral(missing.map((sample) => Math.round(sample.observedAtMs)))}::float8[],
        ${arrayLiteral(missing.map((sample) => layouts.idOf(sample.metrics)))}::integer[],
        ${arrayLiteral(missing.map(({ timeQuality }) => (timeQuality === 'synced' ? null : timeQualities.indexOf(timeQuality))))}::smallint[],
        ${`{${missing.map((sample) => `"${arrayLiteral(sample.values)}"`).join(',')}}`}::text[]
      ) s (observed_ms, layout_id, time_quality, value_text)
      on conflict do nothing
      returning observed_at, layout_id, values
    ),
    latest_set as (
      insert into node_latest (node_id, layout_id, observed_at, values)
      select distinct on (layout_id) ${nodeId}::integer, layout_id, observed_at, values
      from kept
      order by layout_id, observed_at desc
      on conflict (node_id, layout_id) do update
        set observed_at = excluded.observed_at, values = excluded.values
        where node_latest.observed_at < excluded.observed_at
    ),
    beat as (
      update node_pulse set
        last_observed_at = greatest(last_observed_at, (select max(observed_at) from kept)),
        news_version = news_version + 1
      where node_id = ${nodeId} and exists (select from kept)
      returning news_version
    )
    insert into stale_hour (node_id, hour_start, news_version)
    select ${nodeId}::integer, hour.hour_start, beat.news_version
    from (select distinct date_bin('1 hour', observed_at, 'epoch') as hour_start from kept) hour
    cross join beat
    order by hour_start
    on conflict (node_id, hour_start) do update set news_version = excluded.news_version`.execute(
    db,
  );
}

export async function keepConflicts(
  db: Kysely<Tables>,
  layouts: Layouts,
  {
    conflicts,
    batch,
  }: { readonly conflicts: CardComparison['conflicts']; readonly batch: CardBatch },
): Promise<void> {
  if (conflicts.length === 0) return;
  const different = [
    ...new Map(
      conflicts.map((one) => [`${one.metric} ${one.observedAtMs} ${one.cardValue}`, one]),
    ).values(),
  ];
  const ids = await Promise.all(different.map(({ metric }) => layouts.metricId(metric)));
  await sql`
    insert into card_conflict (node_id, metric_id, observed_at, card_value, kept_value, import_id)
    select ${batch.nodeId}::integer, metric_id, to_timestamp(at_ms / 1000), card_value, kept_value,
      ${batch.importId}::integer
    from unnest(
      ${arrayLiteral(ids.map((id) => id ?? null))}::smallint[],
      ${arrayLiteral(different.map(({ observedAtMs }) => Math.round(observedAtMs)))}::float8[],
      ${arrayLiteral(different.map(({ cardValue }) => cardValue))}::float8[],
      ${arrayLiteral(different.map(({ keptValue }) => keptValue))}::float8[]
    ) found (metric_id, at_ms, card_value, kept_value)
    order by metric_id, at_ms, card_value
    on conflict (node_id, metric_id, observed_at, card_value) do update
      set import_id = excluded.import_id, kept_value = excluded.kept_value`.execute(db);
}
