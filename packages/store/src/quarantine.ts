import { createHash } from 'node:crypto';
import type { MessageFault, NodeName, Packet } from '@duskline/domain';
import type { Sql } from 'postgres';
import { storableText } from './array-literal.ts';
import type { QuarantineEntry, QuarantineStore } from './store.ts';

/** Different bad messages kept of one node in one UTC day; what comes after is only counted. */
export const KEPT_PER_NODE_AND_DAY = 1000;

export function createQuarantineStore(sql: Sql): QuarantineStore {
  return {
    async add({ packet, node, fault }) {
      const topic = storableText(packet.topic);
      const contentType = packet.contentType ?? null;
      await sql`
        with again as (
          update quarantine set count = count + 1,
            last_received_at = greatest(last_received_at, to_timestamp(${packet.receivedAtMs}::float8 / 1000))
          where id = ${identityOf(packet, fault)}
          returning id
        ),
        tally as (
          insert into quarantine_day (node, day, different, received)
          select ${node ?? ''}, (to_timestamp(${packet.receivedAtMs}::float8 / 1000) at time zone 'UTC')::date,
            count(*) filter (where again.id is null), 1
          from (values (1)) one_message left join again on true
          on conflict (node, day) do update set
            different = quarantine_day.different + excluded.different,
            received = quarantine_day.received + 1
          returning different
        )
        insert into quarantine (
          id, topic, node, code, reason, content_type, payload, first_received_at, last_received_at
        )
        select ${identityOf(packet, fault)}, ${topic}, ${node ?? null}, ${fault.code},
          ${storableText(fault.reason)}, ${contentType === null ? null : storableText(contentType)},
          ${packet.payload}::bytea,
          to_timestamp(${packet.receivedAtMs}::float8 / 1000), to_timestamp(${packet.receivedAtMs}::float8 / 1000)
        from tally
        where tally.different <= ${KEPT_PER_NODE_AND_DAY} and not exists (select from again)
        on conflict (id) do update set count = quarantine.count + 1`;
    },
    async recent(limit) {
      const rows = await sql<QuarantineRow[]>`
        select encode(id, 'hex') as id, last_received_at, topic, node, code, reason, content_type, payload, count
        from quarantine
        order by last_received_at desc
        limit ${limit}`;
      return rows.map(entryOf);
    },
    async count() {
      const [row] = await sql<{ received: number }[]>`
        select coalesce(sum(received), 0)::bigint as received from quarantine_day`;
      return row?.received ?? 0;
    },
  };
}

function identityOf(packet: Packet, fault: MessageFault): Uint8Array {
  return createHash('sha256')
    .update(`${packet.topic}\n${fault.code}\n`)
    .update(packet.payload)
    .digest();
}

interface QuarantineRow {
  readonly id: string;
  readonly last_received_at: number;
  readonly topic: string;
  readonly node: NodeName | null;
  readonly code: string;
  readonly reason: string;
  readonly content_type: string | null;
  readonly payload: Uint8Array;
  readonly count: number;
}

const entryOf = (row: QuarantineRow): QuarantineEntry => ({
  id: row.id,
  receivedAtMs: row.last_received_at,
  topic: row.topic,
  ...(row.node === null ? {} : { node: row.node }),
  fault: { code: row.code, reason: row.reason },
  payload: row.payload,
  ...(row.content_type === null ? {} : { contentType: row.content_type }),
  count: row.count,
});
