import type { NodeName } from '@duskline/domain';
import type { Sql } from 'postgres';
import { storableText } from './array-literal.ts';
import { KEPT_PER_NODE_AND_DAY, keepAside } from './keep-aside.ts';
import type {
  QuarantineEntry,
  QuarantineFilter,
  QuarantineStore,
  UnknownNode,
} from './quarantine-store.ts';

/** Names that are no node's; anybody can make up more. */
const UNKNOWN_NAMES_KEPT = 1000;

export function createQuarantineStore(sql: Sql): QuarantineStore {
  const list: QuarantineStore['list'] = async (filter, { limit, after }) => {
    const { ids, node, code, waiting } = columnsOf(filter);
    const rows = await sql<QuarantineRow[]>`
      select encode(id, 'hex') as id, first_received_at, last_received_at, topic, node, code, reason, content_type,
        payload, count, settled, taken_in_at
      from quarantine
      where (${ids}::text[] is null or encode(id, 'hex') = any(${ids}::text[]))
        and (${node}::text is null or node = ${node}::text)
        and (${code}::text is null or code = ${code}::text)
        and (not ${waiting}::boolean or taken_in_at is null)
        and (${after?.id ?? null}::text is null or (last_received_at, encode(id, 'hex'))
          < (to_timestamp(${after?.receivedAtMs ?? 0}::float8 / 1000), ${after?.id ?? null}::text))
      order by last_received_at desc, encode(id, 'hex') desc
      limit ${limit}`;
    return rows.map(entryOf);
  };

  return {
    async add(entry) {
      return (await keepAside(sql, [entry]))[0];
    },
    addAll: (entries) => keepAside(sql, entries),
    recent: (limit) => list({}, { limit }),
    list,
    async summary() {
      const rows = await sql<SummaryRow[]>`
        select code, node, grouping(code) as any_code, grouping(node) as any_node,
          count(*)::integer as kept, coalesce(sum(count), 0)::bigint as received
        from quarantine
        where taken_in_at is null
        group by grouping sets ((code), (node), ())
        order by received desc, code, node`;
      const [day] = await sql<{ over: number }[]>`
        select coalesce(sum(greatest(different - ${KEPT_PER_NODE_AND_DAY}, 0)), 0)::bigint as over from quarantine_day`;
      const all = rows.find((row) => row.any_code === 1 && row.any_node === 1);
      return {
        kept: all?.kept ?? 0,
        received: all?.received ?? 0,
        overCap: day?.over ?? 0,
        byCode: rows.filter((row) => row.any_code === 0).map(codeTallyOf),
        byNode: rows.filter((row) => row.any_node === 0).map(nodeTallyOf),
      };
    },
    async takenIn(ids, nowMs) {
      await sql`
        update quarantine set taken_in_at = to_timestamp(${nowMs}::float8 / 1000)
        where encode(id, 'hex') = any(${[...ids]}::text[]) and taken_in_at is null`;
    },
    async refusedAgain(id, fault) {
      await sql`
        update quarantine set code = ${fault.code}, reason = ${storableText(fault.reason)}
        where encode(id, 'hex') = ${id} and (code, reason) is distinct from (${fault.code}, ${storableText(fault.reason)})`;
    },
    async count() {
      const [row] = await sql<{ received: number }[]>`
        select coalesce(sum(received), 0)::bigint as received from quarantine_day`;
      return row?.received ?? 0;
    },
    async noteUnknownNode(name, nowMs) {
      await sql`
        insert into unknown_node (name, first_seen_at, last_seen_at)
        select ${name}, to_timestamp(${nowMs}::float8 / 1000), to_timestamp(${nowMs}::float8 / 1000)
        where exists (select from unknown_node where name = ${name})
          or (select count(*) from unknown_node) < ${UNKNOWN_NAMES_KEPT}
        on conflict (name) do update set
          last_seen_at = greatest(unknown_node.last_seen_at, excluded.last_seen_at), times = unknown_node.times + 1`;
    },
    async unknownNodes(limit) {
      return await sql<UnknownNode[]>`
        select name, first_seen_at as "firstSeenAtMs", last_seen_at as "lastSeenAtMs", times
        from unknown_node
        where not exists (select from node where node.name = unknown_node.name)
        order by last_seen_at desc
        limit ${limit}`;
    },
  };
}

const columnsOf = ({ ids, node, code, waiting = true }: QuarantineFilter) => ({
  ids: ids === undefined ? null : [...ids],
  node: node ?? null,
  code: code ?? null,
  waiting,
});

interface SummaryRow {
  readonly code: string | null;
  readonly node: NodeName | null;
  readonly any_code: number;
  readonly any_node: number;
  readonly kept: number;
  readonly received: number;
}

const codeTallyOf = ({ code, kept, received }: SummaryRow) => ({
  code: code ?? '',
  kept,
  received,
});
const nodeTallyOf = ({ node, kept, received }: SummaryRow) => ({
  node: node ?? undefined,
  kept,
  received,
});

interface QuarantineRow {
  readonly id: string;
  readonly first_received_at: number;
  readonly last_received_at: number;
  readonly topic: string;
  readonly node: NodeName | null;
  readonly code: string;
  readonly reason: string;
  readonly content_type: string | null;
  readonly payload: Uint8Array;
  readonly count: number;
  readonly settled: boolean;
  readonly taken_in_at: number | null;
}

const entryOf = (row: QuarantineRow): QuarantineEntry => ({
  id: row.id,
  firstReceivedAtMs: row.first_received_at,
  receivedAtMs: row.last_received_at,
  topic: row.topic,
  ...(row.node === null ? {} : { node: row.node }),
  fault: { code: row.code, reason: row.reason },
  payload: row.payload,
  ...(row.content_type === null ? {} : { contentType: row.content_type }),
  count: row.count,
  settled: row.settled,
  ...(row.taken_in_at === null ? {} : { takenInAtMs: row.taken_in_at }),
});
