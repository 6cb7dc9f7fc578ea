import type { MessageFault, MessagePlace, Packet } from '@duskline/domain';
import { createHash } from 'node:crypto';
import type { Sql } from 'postgres';
import { arrayLiteral, storableText } from './array-literal.ts';
import type { NewQuarantineEntry } from './quarantine-store.ts';
import { RANGES_KEPT } from './watermark-limits.ts';

/** Different bad messages kept of one node in one UTC day; what comes after is only counted. */
export const KEPT_PER_NODE_AND_DAY = 10_000;

/**
 * Keeps messages whole in one statement, all or none. The same bytes count up, within the batch as well; over a node's cap
 * for the day only a count is kept. Places that could be read are settled: the watermark passes them.
 *
 * @returns for each, in the given order: everything of its boot up to this place is settled
 */
export async function keepAside(
  sql: Sql,
  entries: readonly NewQuarantineEntry[],
): Promise<readonly (MessagePlace | undefined)[]> {
  const column = <T>(of: (entry: NewQuarantineEntry) => T): T[] => entries.map(of);
  const settled = await sql<{ boot: number | null; upto: number | null }[]>`
    with entry as (
      select place, decode(id, 'hex') as id, topic, node, code, reason, content_type, decode(payload, 'hex') as payload,
        to_timestamp(ms / 1000) as at, (to_timestamp(ms / 1000) at time zone 'UTC')::date as day, boot, seq
      from unnest(
        ${column(({ packet, fault }) => identityOf(packet, fault))}::text[],
        ${column(({ packet }) => storableText(packet.topic))}::text[],
        ${column(({ node }) => node ?? null)}::text[],
        ${column(({ fault }) => fault.code)}::text[],
        ${column(({ fault }) => storableText(fault.reason))}::text[],
        ${column(({ packet: { contentType: type } }) => (type === undefined ? null : storableText(type)))}::text[],
        ${column(({ packet }) => Buffer.from(packet.payload).toString('hex'))}::text[],
        ${arrayLiteral(column(({ packet }) => packet.receivedAtMs))}::float8[],
        ${arrayLiteral(column(({ place }) => place?.boot ?? null))}::integer[],
        ${arrayLiteral(column(({ place }) => place?.seq ?? null))}::bigint[]
      ) with ordinality column_of (id, topic, node, code, reason, content_type, payload, ms, boot, seq, place)
    ),
    one as (
      select id, min(place) as place, count(*) as times, min(at) as first_at, max(at) as last_at
      from entry
      group by id
    ),
    again as (
      update quarantine set count = count + one.times, last_received_at = greatest(last_received_at, one.last_at)
      from one
      where quarantine.id = one.id
      returning quarantine.id
    ),
    -- New to the table, numbered within their node's day.
    fresh as (
      select entry.*, times, first_at, last_at,
        row_number() over (partition by coalesce(node, ''), day order by entry.place) as number
      from entry
      join one using (id, place)
      where id not in (select id from again)
    ),
    tally as (
      insert into quarantine_day (node, day, different, received)
      select coalesce(entry.node, ''), entry.day, count(fresh.place), count(*)
      from entry left join fresh using (place)
      group by 1, 2
      on conflict (node, day) do update set
        different = quarantine_day.different + excluded.different,
        received = quarantine_day.received + excluded.received
      returning node, day, different
    ),
    settled as (
      insert into boot_watermark (node_id, boot, seqs)
      select node.id, entry.boot, range_agg(int8range(seq, seq, '[]'))
      from entry join node on node.name = entry.node
      where entry.boot is not null
      group by node.id, entry.boot
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
    kept as (
      insert into quarantine (
        id, topic, node, code, reason, content_type, payload, first_received_at, last_received_at, count, settled
      )
      select fresh.id, topic, fresh.node, code, reason, content_type, payload, first_at, last_at, times,
        boot is not null and node.id is not null
      from fresh
      join tally on tally.node = coalesce(fresh.node, '') and tally.day = fresh.day
      left join node on node.name = fresh.node
      where tally.different - (select count(*) from fresh other
          where coalesce(other.node, '') = tally.node and other.day = tally.day) + number <= ${KEPT_PER_NODE_AND_DAY}
      on conflict (id) do update set count = quarantine.count + excluded.count
    )
    select settled.boot, settled.upto
    from entry
    left join node on node.name = entry.node
    left join settled on settled.node_id = node.id and settled.boot = entry.boot
    order by entry.place`;
  return settled.map(({ boot, upto }) =>
    boot === null || upto === null ? undefined : { boot, seq: upto },
  );
}

/** The same bytes for the same reason are the same entry: SHA-256, in hexadecimal. */
const identityOf = (packet: Packet, fault: MessageFault): string =>
  createHash('sha256')
    .update(`${packet.topic}\n${fault.code}\n`)
    .update(packet.payload)
    .digest('hex');
