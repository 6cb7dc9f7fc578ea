import type { AcceptedMessage, MessagePlace } from '@duskline/domain';
import { nodeId, timeQualities } from '@duskline/domain';
import { batchColumns, type BatchColumns } from './accept-batch.ts';
import type { Sql } from 'postgres';
import type { Layouts } from './layouts.ts';
import { takeOverFromCards } from './card-takeover.ts';
import { createCommittedPlaces } from './committed-places.ts';
import { createSampleMonths } from './sample-months.ts';
import type { AcceptOutcome, RawReading, SampleStore } from './store.ts';
import { RANGES_KEPT } from './watermark-limits.ts';

const UNSURE = timeQualities.indexOf('unsure');

export function createSampleStore(sql: Sql, layouts: Layouts): SampleStore {
  const months = createSampleMonths(sql);
  return {
    ...createCommittedPlaces(sql),
    async accept(messages, { settledBefore = false } = {}) {
      if (messages.length === 0) return [];
      await layouts.ensure(
        messages.flatMap((message) => message.samples.map((sample) => sample.metrics)),
      );
      const columns = batchColumns(messages, (metrics) => layouts.idOf(metrics));
      await months.ensure(messages);
      const rows = await acceptColumns(sql, columns, settledBefore);
      await takeOverFromCards(sql, messages, (metrics) => layouts.idOf(metrics));
      return outcomesOf(messages, rows);
    },
    async raw(node, metric, { fromMs, toMs, limit }) {
      const metricId = await layouts.metricId(metric);
      if (metricId === undefined) return [];
      return await sql<RawReading[]>`
        select sample.observed_at as "atMs",
          sample.values[array_position(layout.metric_ids, ${metricId}::smallint)] as value
        from sample
        join layout on layout.id = sample.layout_id
        where sample.node_id = ${node}
          and sample.layout_id = any(array(select id from layout where metric_ids @> array[${metricId}::smallint]))
          and sample.observed_at >= to_timestamp(${fromMs}::float8 / 1000)
          and sample.observed_at < to_timestamp(${toMs}::float8 / 1000)
        order by sample.observed_at
        limit ${limit}`;
    },
  };
}

interface AcceptedRow {
  /** Place of the message in the batch, from 1. */
  readonly ord: number;
  readonly node_id: number;
  readonly stored: boolean;
  /** The last number of its boot up to which all are committed. */
  readonly upto: number | null;
}

/**
 * The one statement of the intake. Read top to bottom:
 *
 * 1. `message_in`, `held`: who is it from; the pulse of each node is locked, in the order of ids, before anything
 *    else of that node is touched, so that two servers wait for each other and never in a circle.
 * 2. `placed`, `fresh`: what the ledger lets through. A number below the watermark is refused even if the ledger
 *    was pruned. A message without a place is let through; the key of its samples keeps it from doubling.
 * 3. `sample_in`, `kept`: the samples that are new. The first to come under a key stays.
 * 4. `noted`: what the node said of a time that was put right; `latest_set`: the latest values, of readings whose time
 *    can be trusted; `marked`: the hours to roll up again; `watermark`; `beat`: the pulse.
 * 5. `said`: the word that is kept. A node's own words go by the time they tell of, so that a late farewell does not undo a
 *    hello. The broker's `dropped` and a node's word go by their receipt: whoever speaks after the link broke is back,
 *    though the hello may tell of a boot before the broker noticed.
 *
 * A statement sees the database as it was when it started, plus the rows it locks and conflicts with as they are
 * now. So whatever two servers may write at once is written by a conflict clause or on a locked row.
 */
async function acceptColumns(
  sql: Sql,
  columns: BatchColumns,
  settledBefore: boolean,
): Promise<AcceptedRow[]> {
  const { messages, samples } = columns;
  return await sql<AcceptedRow[]>`
    with message_in as materialized (
      select m.ord, node.id as node_id, m.live, to_timestamp(m.received_ms / 1000) as received_at,
        to_timestamp(m.heard_ms / 1000) as heard_at, m.boot, m.seq, m.word::jsonb as word, to_timestamp(m.word_ms / 1000) as word_at
      from unnest(
        ${[...messages.names]}::text[], ${messages.receivedMs}::float8[], ${messages.heardMs}::float8[],
        ${messages.live}::boolean[], ${messages.boots}::integer[], ${messages.seqs}::integer[],
        ${[...messages.words]}::text[], ${messages.wordMs}::float8[]
      ) with ordinality m (name, received_ms, heard_ms, live, boot, seq, word, word_ms, ord)
      join node on node.name = m.name
    ),
    held as materialized (
      select node_id, news_version, word_at, word ->> 'kind' as word_kind
      from node_pulse
      where node_id in (select node_id from message_in)
      order by node_id
      for update
    ),
    placed as (
      insert into message (node_id, boot, seq, received_at)
      select distinct on (m.node_id, m.boot, m.seq) m.node_id, m.boot, m.seq, m.received_at
      from held
      join message_in m using (node_id)
      where m.boot is not null
        and (${settledBefore}::boolean or not exists (
          select from boot_watermark w
          where w.node_id = m.node_id and w.boot = m.boot and w.seqs @> m.seq::bigint
        ))
      order by m.node_id, m.boot, m.seq, m.ord
      on conflict do nothing
      returning node_id, boot, seq
    ),
    fresh as materialized (
      select distinct on (node_id, boot, seq) ord, node_id, boot
      from message_in join placed using (node_id, boot, seq)
      order by node_id, boot, seq, ord
    ),
    open_in as materialized (
      select ord, node_id, boot from fresh
      union all
      select m.ord, m.node_id, m.boot from held join message_in m using (node_id) where m.boot is null
    ),
    sample_in as materialized (
      select distinct on (node_id, s.layout_id, observed_at)
        open_in.ord, open_in.boot, node_id, to_timestamp(s.observed_ms / 1000) as observed_at,
        s.layout_id, s.time_quality, s.said_s, s.value_text
      from unnest(
        ${samples.messages}::integer[], ${samples.observedMs}::float8[], ${samples.layouts}::integer[],
        ${samples.timeQualities}::smallint[], ${samples.saidS}::float8[], ${samples.values}::text[]
      ) s (ord, observed_ms, layout_id, time_quality, said_s, value_text)
      join open_in on open_in.ord = s.ord
      order by node_id, s.layout_id, observed_at, open_in.ord
    ),
    kept as (
      insert into sample (node_id, layout_id, observed_at, received_at, time_quality, values)
      select s.node_id, s.layout_id, s.observed_at, m.received_at, s.time_quality,
        s.value_text::double precision[]
      from sample_in s
      join message_in m on m.ord = s.ord
      order by s.node_id, s.layout_id, s.observed_at
      on conflict do nothing
      returning node_id, layout_id, observed_at, time_quality, values
    ),
    noted as (
      insert into sample_note (node_id, observed_at, layout_id, said_s)
      select s.node_id, s.observed_at, s.layout_id, s.said_s
      from sample_in s join kept using (node_id, observed_at, layout_id)
      where s.said_s is not null
      on conflict do nothing
    ),
    latest_set as (
      insert into node_latest (node_id, layout_id, observed_at, values)
      select distinct on (node_id, layout_id) node_id, layout_id, observed_at, values
      from kept
      where time_quality is distinct from ${UNSURE}
      order by node_id, layout_id, observed_at desc
      on conflict (node_id, layout_id) do update
        set observed_at = excluded.observed_at, values = excluded.values
        where node_latest.observed_at < excluded.observed_at
    ),
    marked as (
      insert into stale_hour (node_id, hour_start, news_version)
      select hour.node_id, hour.hour_start, held.news_version + 1
      from (
        select distinct node_id, date_bin('1 hour', observed_at, 'epoch') as hour_start from kept
      ) hour
      join held using (node_id)
      order by 1, 2
      on conflict (node_id, hour_start) do update set news_version = excluded.news_version
    ),
    watermark as (
      insert into boot_watermark (node_id, boot, seqs)
      select m.node_id, m.boot, range_agg(int8range(m.seq, m.seq, '[]'))
      from held
      join message_in m using (node_id)
      where m.boot is not null
      group by m.node_id, m.boot
      order by m.node_id, m.boot
      on conflict (node_id, boot) do update
        set seqs = (
          select range_agg(kept_range)
          from (
            select kept_range from unnest(boot_watermark.seqs + excluded.seqs) kept_range limit ${RANGES_KEPT}
          ) first_ranges
        )
      returning node_id, boot, (
        select case when lower(first_range) <= 1 then upper(first_range) - 1 end
        from unnest(seqs) first_range
        limit 1
      ) as upto
    ),
    stored as materialized (
      select ord from fresh
      union
      select s.ord
      from sample_in s join kept using (node_id, observed_at, layout_id)
      where s.boot is null
      union
      select m.ord
      from message_in m join held using (node_id)
      where m.boot is null and (
        m.word_at > coalesce(held.word_at, '-infinity')
        or (held.word_kind = 'dropped' and m.word ->> 'kind' <> 'dropped' and m.received_at >= held.word_at)
      )
    ),
    said as materialized (
      select distinct on (m.node_id) m.node_id, m.word, m.word_at, (
          m.word_at > coalesce(held.word_at, '-infinity')
          or (held.word_kind = 'dropped' and m.kind <> 'dropped' and m.received_at >= held.word_at)
        ) as wins
      from (
        select message_in.*, word ->> 'kind' as kind,
          max(received_at) filter (where word ->> 'kind' <> 'dropped') over (partition by node_id) as spoken_at
        from message_in join stored using (ord)
        where word is not null
      ) m
      join held using (node_id)
      order by m.node_id, (m.kind = 'dropped' and m.spoken_at >= m.received_at), (m.kind = 'dropped') desc, m.word_at desc
    ),
    beat as (
      update node_pulse pulse set
        first_heard_at = least(pulse.first_heard_at, heard.first_at),
        last_heard_at = greatest(pulse.last_heard_at, heard.last_at),
        last_live_at = greatest(pulse.last_live_at, heard.last_live_at),
        last_received_at = greatest(pulse.last_received_at, heard.last_received_at),
        last_observed_at = greatest(pulse.last_observed_at, heard.last_observed_at),
        word = case when heard.word_wins then heard.word else pulse.word end,
        word_at = case when heard.word_wins then heard.word_at else pulse.word_at end,
        news_version = pulse.news_version + 1
      from (
        select m.node_id,
          min(m.heard_at) filter (where not m.from_broker) as first_at,
          max(m.heard_at) filter (where not m.from_broker) as last_at,
          max(m.heard_at) filter (where m.live and not m.from_broker) as last_live_at,
          max(m.received_at) filter (where not m.from_broker) as last_received_at,
          max(observed.last_at) as last_observed_at,
          max(said.word_at) as word_at,
          (array_agg(said.word))[1] as word,
          coalesce(bool_or(said.wins), false) as word_wins
        from (
          select message_in.*, coalesce(word ->> 'kind' = 'dropped', false) as from_broker
          from message_in join stored using (ord)
        ) m
        left join (
          select node_id, max(observed_at) as last_at from kept where time_quality is distinct from ${UNSURE} group by node_id
        ) observed on observed.node_id = m.node_id
        left join said on said.node_id = m.node_id
        group by m.node_id
      ) heard
      where pulse.node_id = heard.node_id
    )
    select m.ord, m.node_id, stored.ord is not null as stored, watermark.upto
    from message_in m
    left join stored on stored.ord = m.ord
    left join watermark on watermark.node_id = m.node_id and watermark.boot = m.boot`;
}

function outcomesOf(
  messages: readonly AcceptedMessage[],
  rows: readonly AcceptedRow[],
): AcceptOutcome[] {
  const outcomes: AcceptOutcome[] = messages.map(() => ({ kind: 'unknown-node' }));
  for (const row of rows) {
    const ack = placeOf(messages[row.ord - 1], row);
    outcomes[row.ord - 1] = {
      kind: row.stored ? 'stored' : 'duplicate',
      nodeId: nodeId(row.node_id),
      ...(ack === undefined ? {} : { ack }),
    };
  }
  return outcomes;
}

function placeOf(
  message: AcceptedMessage | undefined,
  { upto }: AcceptedRow,
): MessagePlace | undefined {
  if (message?.place === undefined || upto === null) return undefined;
  return { boot: message.place.boot, seq: upto };
}
