import {
  timeQualities,
  type AcceptedMessage,
  type MetricKey,
  type NodeName,
} from '@duskline/domain';
import type { Sql } from 'postgres';
import { arrayLiteral } from './array-literal.ts';

/**
 * Air comes before a card also where both have the very same key: the intake's conflict clause leaves the card's row in place, and
 * here it takes on what came by air. Where a value differs by more than the card's last digit the card's is listed.
 *
 * Runs between the intake's statement and the acknowledgement, whatever that statement said of the message: a server that dies in
 * between is sent the message again. Repeating it changes nothing.
 */
export async function takeOverFromCards(
  sql: Sql,
  messages: readonly AcceptedMessage[],
  layoutIdOf: (metrics: readonly MetricKey[]) => number,
): Promise<void> {
  const names = [...new Set(messages.map(({ node }) => node))];
  const homes = await sql<{ id: number; name: NodeName }[]>`
    select id, name from node
    where name = any(${names}::text[])
      and exists (select from card_import where card_import.node_id = node.id and filled > 0)
    order by id`;
  for (const { id, name } of homes) {
    const ofNode = messages.filter(({ node }) => node === name);
    await takeOver(sql, id, rowsOf(ofNode, layoutIdOf));
  }
}

interface AirRow {
  readonly observedMs: number;
  readonly receivedMs: number;
  readonly layoutId: number;
  readonly timeQuality: number | null;
  readonly values: string;
}

function rowsOf(
  messages: readonly AcceptedMessage[],
  layoutIdOf: (metrics: readonly MetricKey[]) => number,
): readonly AirRow[] {
  return messages.flatMap(({ samples, receivedAtMs }) =>
    samples.map((sample) => ({
      observedMs: Math.round(sample.observedAtMs),
      receivedMs: Math.round(receivedAtMs),
      layoutId: layoutIdOf(sample.metrics),
      timeQuality:
        sample.timeQuality === 'synced' ? null : timeQualities.indexOf(sample.timeQuality),
      values: arrayLiteral(sample.values),
    })),
  );
}

/** The pulse is locked first, as everybody does who writes a node's samples. */
async function takeOver(sql: Sql, node: number, rows: readonly AirRow[]): Promise<void> {
  if (rows.length === 0) return;
  const times = rows.map(({ observedMs }) => observedMs);
  const [fromMs, toMs] = [Math.min(...times), Math.max(...times)];
  await sql`
    with held as materialized (
      select node_id from node_pulse where node_id = ${node} for update
    ),
    air as materialized (
      select distinct on (layout_id, observed_ms) to_timestamp(observed_ms / 1000) as observed_at, layout_id,
        to_timestamp(received_ms / 1000) as received_at, time_quality, value_text::double precision[] as "values"
      from unnest(
        ${arrayLiteral(times)}::float8[], ${arrayLiteral(rows.map(({ layoutId }) => layoutId))}::integer[],
        ${arrayLiteral(rows.map(({ receivedMs }) => receivedMs))}::float8[],
        ${arrayLiteral(rows.map(({ timeQuality }) => timeQuality))}::smallint[],
        ${rows.map(({ values }) => values)}::text[]
      ) with ordinality given (observed_ms, layout_id, received_ms, time_quality, value_text, place)
      order by layout_id, observed_ms, place
    ),
    met as materialized (
      select air.*, card."values" as card_values, card.card_import_id
      from held
      join sample card on card.node_id = held.node_id
      join air using (layout_id, observed_at)
      where card.node_id = ${node} and card.card_import_id is not null
        and card.observed_at between to_timestamp(${fromMs}::float8 / 1000) and to_timestamp(${toMs}::float8 / 1000)
    ),
    listed as (
      insert into card_conflict (node_id, metric_id, observed_at, card_value, kept_value, import_id)
      select ${node}::integer, reading.metric_id, met.observed_at, reading.card_value, reading.air_value, card_import.id
      from met
      join card_import on card_import.id = met.card_import_id
      join layout on layout.id = met.layout_id
      cross join lateral unnest(layout.metric_ids, met."values", met.card_values)
        reading (metric_id, air_value, card_value)
      join metric on metric.id = reading.metric_id
      -- As compare-card.ts has it: the card's last digit, and a hair for the arithmetic.
      where abs(reading.air_value - reading.card_value)
        > coalesce((card_import.merge_rule -> 'tolerance' ->> metric.key)::float8, 0) * (1 + 1e-9)
          + abs(reading.air_value) * 1e-12
      order by reading.metric_id, met.observed_at, reading.card_value
      on conflict (node_id, metric_id, observed_at, card_value) do update
        set import_id = excluded.import_id, kept_value = excluded.kept_value
    ),
    taken as (
      update sample set "values" = met."values", received_at = met.received_at,
        time_quality = met.time_quality, flags = null, card_import_id = null
      from met
      where sample.node_id = ${node} and sample.layout_id = met.layout_id and sample.observed_at = met.observed_at
        and sample.card_import_id is not null
        and sample.observed_at between to_timestamp(${fromMs}::float8 / 1000) and to_timestamp(${toMs}::float8 / 1000)
      returning sample.observed_at
    ),
    beat as (
      update node_pulse set news_version = news_version + 1
      where node_id = ${node} and exists (select from taken)
      returning news_version
    )
    insert into stale_hour (node_id, hour_start, news_version)
    select ${node}::integer, hour.hour_start, beat.news_version
    from (select distinct date_bin('1 hour', observed_at, 'epoch') as hour_start from taken) hour
    cross join beat
    order by hour_start
    on conflict (node_id, hour_start) do update set news_version = excluded.news_version`;
}
