import { HOUR_MS, type NodeId, type Outlook, type OutlookFan } from '@duskline/domain';
import { sql as kyselySql, type Kysely } from 'kysely';
import { storableJson } from './array-literal.ts';
import { instant } from './database/epoch-ms.ts';
import type { Database } from './database/open-database.ts';
import { keepOutlookInputs, readOutlookInputs } from './outlook-inputs.ts';
import type { Tables } from './schema.ts';
import { keepScoreSeed } from './scores.ts';
import type { IssuedOutlook, OutlookRecord, OutlookStore } from './outlook-store.ts';
import type { ScoreRow } from './score-store.ts';

export function createOutlookStore(database: Database<Tables>): OutlookStore {
  const { sql } = database;
  const record = sql`
    select outlook.issued_at, outlook.hindcast, outlook.body, outlook.fan, input.node_id is not null as reproducible,
      score.happened7, score.outcome, score.outcome_days, score.figures
    from outlook
    left join outlook_input input using (node_id, issued_at, hindcast)
    left join outlook_score score using (node_id, issued_at, hindcast)`;
  return {
    async latest(node) {
      const [row] = await sql<OutlookRow[]>`
        select body, fan from outlook
        where node_id = ${node} and not hindcast
        order by issued_at desc
        limit 1`;
      return row && outlookOf(row);
    },
    async newestAtMs() {
      const [row] = await sql<{ newest: number | null }[]>`
        select max(latest.issued_at) as newest
        from node
        cross join lateral (
          select issued_at from outlook
          where node_id = node.id and not hindcast
          order by issued_at desc
          limit 1
        ) latest`;
      return row?.newest ?? undefined;
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
    async list(node, { fromMs, toMs, limit }) {
      const rows = await sql<RecordRow[]>`
        ${record}
        where node_id = ${node} and issued_at >= to_timestamp(${fromMs}::float8 / 1000)
          and issued_at < to_timestamp(${toMs}::float8 / 1000)
        order by issued_at desc, hindcast
        limit ${limit}`;
      return rows.map(recordOf);
    },
    async find(node, { issuedAtMs, hindcast }) {
      const [row] = await sql<RecordRow[]>`
        ${record}
        where node_id = ${node} and issued_at = to_timestamp(${issuedAtMs}::float8 / 1000) and hindcast = ${hindcast}`;
      return row && recordOf(row);
    },
    inputs: (node, key) => readOutlookInputs(sql, node, key),
    keepHindcasts: (node, outlooks) =>
      database.transaction(async (trx) => {
        for (const issued of outlooks) await keepOutlook(trx, node, issued);
        await kyselySql`
          update outlook set fan = null
          where node_id = ${node} and hindcast and not dark and fan is not null`.execute(trx);
      }),
  };
}

interface RecordRow extends OutlookRow {
  readonly issued_at: number;
  readonly hindcast: boolean;
  readonly reproducible: boolean;
  readonly happened7: boolean | null;
  readonly outcome: NonNullable<ScoreRow['outcome']> | null;
  readonly outcome_days: number | null;
  readonly figures: unknown;
}

const recordOf = (row: RecordRow): OutlookRecord => ({
  issuedAtMs: row.issued_at,
  hindcast: row.hindcast,
  outlook: outlookOf(row),
  reproducible: row.reproducible,
  ...(row.happened7 === null && row.outcome === null
    ? {}
    : {
        graded: {
          ...(row.happened7 === null ? {} : { happened7: row.happened7 }),
          ...(row.outcome === null ? {} : { outcome: row.outcome }),
          ...(row.outcome_days === null ? {} : { outcomeDays: row.outcome_days }),
          ...(row.figures === null ? {} : { figures: row.figures }),
        },
      }),
});

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
  for (const issued of outlooks) await keepOutlook(trx, node, issued);
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
  { outlook, hindcast, inputs, score }: IssuedOutlook,
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
  const at = { issuedAtMs: outlook.issuedAtMs, hindcast };
  if (inputs !== undefined) await keepOutlookInputs(trx, node, { ...at, inputs });
  if (score !== undefined) await keepScoreSeed(trx, node, { ...at, score });
}
