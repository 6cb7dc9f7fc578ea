import { HOUR_MS, type NodeId, type Outlook, type OutlookFan } from '@duskline/domain';
import { sql as kyselySql, type Kysely } from 'kysely';
import type { Sql } from 'postgres';
import { storableJson } from './array-literal.ts';
import { instant } from './database/epoch-ms.ts';
import type { Tables } from './schema.ts';
import type { IssuedOutlook, OutlookStore } from './store.ts';

export function createOutlookStore(sql: Sql): OutlookStore {
  return {
    async latest(node) {
      const [row] = await sql<OutlookRow[]>`
        select body, fan from outlook
        where node_id = ${node} and not hindcast
        order by issued_at desc
        limit 1`;
      return row && outlookOf(row);
    },
    async lastAlive(node) {
      const [row] = await sql<OutlookRow[]>`
        select body, fan from outlook
        where node_id = ${node} and not hindcast and not dark
        order by issued_at desc
        limit 1`;
      return row && outlookOf(row);
    },
    async firstDark(node, sinceMs) {
      const [row] = await sql<OutlookRow[]>`
        select body, fan from outlook
        where node_id = ${node} and dark and issued_at >= to_timestamp(${sinceMs}::float8 / 1000)
        order by issued_at, hindcast
        limit 1`;
      return row && outlookOf(row);
    },
  };
}

export interface OutlookRow {
  readonly body: Outlook;
  readonly fan: OutlookFan | null;
}

/** An outlook as it was issued; the fan of an old one is no longer kept and comes back empty. */
export function outlookOf({ body, fan }: OutlookRow): Outlook {
  if (body.kind === 'insufficient-data') return body;
  const empty = { startMs: body.issuedAtMs, stepMs: HOUR_MS, p10: [], p50: [], p90: [] };
  return { ...body, fan: fan ?? empty };
}

/** Keeps outlooks of one node; one issued for the same instant before stays. */
export async function keepOutlooks(
  trx: Kysely<Tables>,
  node: NodeId,
  outlooks: readonly IssuedOutlook[],
): Promise<void> {
  for (const { outlook, hindcast } of outlooks) await keepOutlook(trx, node, { outlook, hindcast });
  if (outlooks.length === 0) return;
  await kyselySql`
    update outlook set fan = null
    where node_id = ${node} and fan is not null and issued_at < (
      select least(max(issued_at), max(issued_at) filter (where not dark))
      from outlook
      where node_id = ${node} and not hindcast and fan is not null
    )`.execute(trx);
}

async function keepOutlook(
  trx: Kysely<Tables>,
  node: NodeId,
  { outlook, hindcast }: IssuedOutlook,
): Promise<void> {
  const { fan, ...body } = 'fan' in outlook ? outlook : { ...outlook, fan: undefined };
  const dark = outlook.whileDark === true;
  const days = outlook.kind === 'empties-in' ? outlook : undefined;
  const figures = outlook.kind === 'insufficient-data' ? undefined : outlook;
  await kyselySql`
    insert into outlook (
      node_id, issued_at, hindcast, dark, kind, horizon_days, p10_days, p50_days, p90_days,
      dark_within_3_days, dark_within_7_days, dark_within_14_days, model, body, fan
    ) values (
      ${node}, ${instant(outlook.issuedAtMs)}, ${hindcast}, ${dark}, ${outlook.kind}, ${outlook.horizonDays},
      ${days?.p10Days ?? null}, ${days?.p50Days ?? null}, ${days?.p90Days ?? null},
      ${figures?.darkWithin3DaysProbability ?? null}, ${figures?.darkWithin7DaysProbability ?? null},
      ${figures?.darkWithin14DaysProbability ?? null},
      ${outlook.model}, ${storableJson(body)}::text::jsonb, ${fan === undefined ? null : storableJson(fan)}::text::jsonb
    )
    on conflict (node_id, issued_at, hindcast) do nothing`.execute(trx);
}
