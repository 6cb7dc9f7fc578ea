import { DAY_MS, nodeId, type NodeId } from '@duskline/domain';
import { sql as kyselySql, type Kysely } from 'kysely';
import type { Sql } from 'postgres';
import { arrayLiteral, storableJson } from './array-literal.ts';
import { instant } from './database/epoch-ms.ts';
import type { Tables } from './schema.ts';
import type {
  Grade,
  OpenScore,
  Recalibration,
  ScoreRow,
  ScoreSeed,
  ScoreStore,
} from './score-store.ts';

export function createScoreStore(sql: Sql): ScoreStore {
  return {
    async nodesDue(nowMs, limit) {
      // Due by the clock, or the node went dark: then everything foretold before is settled at once.
      const rows = await sql<{ id: NodeId }[]>`
        select node_id as id from (
          select node_id, min(due_at) as waiting from outlook_score
          where due_at <= to_timestamp(${nowMs}::float8 / 1000)
          group by node_id
          union all
          select open.node_id, dark.from_at from node_interval dark
          join lateral (
            select node_id from outlook_score
            where outlook_score.node_id = dark.node_id and due_at is not null and issued_at < dark.from_at
              and of = 'empty' and not hindcast
            limit 1
          ) open on true
          where dark.to_at is null and dark.state = 'dark-as-designed'
        ) due
        group by node_id
        order by min(waiting), node_id
        limit ${limit}`;
      return rows.map(({ id }) => id);
    },
    async open(node, limit) {
      const rows = await sql<OpenRow[]>`
        select issued_at, hindcast, of, due_at, horizon_days, days, chance7, baselines from outlook_score
        where node_id = ${node} and due_at is not null
        order by issued_at, hindcast
        limit ${limit}`;
      return rows.map(openOf);
    },
    async grade(node, grades) {
      const rows = await sql`
        update outlook_score set
          graded_at = to_timestamp(graded_ms / 1000), due_at = to_timestamp(due_ms / 1000),
          happened7 = coalesce(grade.happened7, outlook_score.happened7), outcome = grade.outcome,
          outcome_days = grade.outcome_days, figures = grade.figures
        from jsonb_to_recordset(${storableJson(grades.map(gradeRow))}::text::jsonb) grade (
          issued_ms float8, hindcast boolean, graded_ms float8, due_ms float8, happened7 boolean, outcome text,
          outcome_days float8, figures jsonb
        )
        where outlook_score.node_id = ${node} and outlook_score.issued_at = to_timestamp(issued_ms / 1000)
          and outlook_score.hindcast = grade.hindcast and outlook_score.due_at is not null
        returning 1`;
      return rows.length;
    },
    async daily({ fromMs, toMs, nodeId: only }) {
      // Outlooks of one day see the same weather: the first of each UTC day stands for it.
      const rows = await sql<ScoreRecord[]>`
        select distinct on (node_id, date_bin('1 day', issued_at, 'epoch'))
          node_id, issued_at, hindcast, of, horizon_days, raw_chance7, chance7, happened7, outcome, outcome_days, figures
        from outlook_score
        where issued_at >= to_timestamp(${fromMs}::float8 / 1000) and issued_at < to_timestamp(${toMs}::float8 / 1000)
          and (${only ?? null}::integer is null or node_id = ${only ?? null})
        order by node_id, date_bin('1 day', issued_at, 'epoch'), hindcast, issued_at`;
      return rows.map(scoreOf);
    },
    async recalibration() {
      const [row] = await sql<Recalibration[]>`
        select fitted_at as "fittedAtMs", outcomes, body from recalibration order by fitted_at desc limit 1`;
      return row;
    },
    async keepRecalibration({ fittedAtMs, outcomes, body }) {
      await sql`
        insert into recalibration (fitted_at, outcomes, body)
        values (to_timestamp(${fittedAtMs}::float8 / 1000), ${outcomes}, ${storableJson(body)}::text::jsonb)
        on conflict (fitted_at) do nothing`;
    },
    async hindcastTodo(limit) {
      const rows = await sql<{ id: number; days: number; first_at: number }[]>`
        select node.id, known.days, known.first_at
        from node
        join lateral (
          select count(*) as days, min(day_start) as first_at from charge_day where charge_day.node_id = node.id
        ) known on known.days > 0
        left join hindcast_mark mark on mark.node_id = node.id
        where node.retired_at is null
          -- More of the past than was gone through, beyond what time itself has added.
          and (mark.node_id is null or known.days - days_known > 2 + extract(epoch from now() - marked_at) / 86400)
        order by node.id
        limit ${limit}`;
      return rows.map((row) => ({
        nodeId: nodeId(row.id),
        daysKnown: row.days,
        firstAtMs: row.first_at,
      }));
    },
    async issuedDays(node) {
      const rows = await sql<{ day: number }[]>`
        select distinct date_bin('1 day', issued_at, 'epoch') as day from outlook_score where node_id = ${node}`;
      return rows.map(({ day }) => day / DAY_MS);
    },
    async markHindcasts(node, daysKnown, nowMs) {
      await sql`
        insert into hindcast_mark (node_id, days_known, marked_at)
        values (${node}, ${daysKnown}, to_timestamp(${nowMs}::float8 / 1000))
        on conflict (node_id) do update set days_known = excluded.days_known, marked_at = excluded.marked_at`;
    },
  };
}

/** Makes the row of an outlook that will be graded; one that is there stays. */
export async function keepScoreSeed(
  trx: Kysely<Tables>,
  node: NodeId,
  at: { readonly issuedAtMs: number; readonly hindcast: boolean; readonly score: ScoreSeed },
): Promise<void> {
  const { score } = at;
  await kyselySql`
    insert into outlook_score (
      node_id, issued_at, hindcast, of, due_at, horizon_days, days, raw_chance7, chance7, baselines
    ) values (
      ${node}, ${instant(at.issuedAtMs)}, ${at.hindcast}, ${score.of}, ${instant(score.dueAtMs)}, ${score.horizonDays},
      ${arrayLiteral(score.days)}::float8[], ${score.rawChance7}, ${score.chance7},
      ${storableJson(score.baselines)}::text::jsonb
    )
    on conflict (node_id, issued_at, hindcast) do nothing`.execute(trx);
}

const gradeRow = (grade: Grade) => ({
  issued_ms: grade.issuedAtMs,
  hindcast: grade.hindcast,
  graded_ms: grade.gradedAtMs,
  due_ms: grade.nextDueAtMs,
  happened7: grade.happened7,
  outcome: grade.outcome,
  outcome_days: grade.outcomeDays,
  figures: grade.figures,
});

interface OpenRow {
  readonly issued_at: number;
  readonly hindcast: boolean;
  readonly of: OpenScore['of'];
  readonly due_at: number;
  readonly horizon_days: number;
  readonly days: readonly number[];
  readonly chance7: number;
  readonly baselines: unknown;
}

const openOf = (row: OpenRow): OpenScore => ({
  issuedAtMs: row.issued_at,
  hindcast: row.hindcast,
  of: row.of,
  dueAtMs: row.due_at,
  horizonDays: row.horizon_days,
  days: row.days,
  chance7: row.chance7,
  baselines: row.baselines,
});

interface ScoreRecord {
  readonly node_id: number;
  readonly issued_at: number;
  readonly hindcast: boolean;
  readonly of: ScoreRow['of'];
  readonly horizon_days: number;
  readonly raw_chance7: number;
  readonly chance7: number;
  readonly happened7: boolean | null;
  readonly outcome: ScoreRow['outcome'] | null;
  readonly outcome_days: number | null;
  readonly figures: unknown;
}

const scoreOf = (row: ScoreRecord): ScoreRow => ({
  nodeId: nodeId(row.node_id),
  issuedAtMs: row.issued_at,
  hindcast: row.hindcast,
  of: row.of,
  horizonDays: row.horizon_days,
  rawChance7: row.raw_chance7,
  chance7: row.chance7,
  ...(row.happened7 === null ? {} : { happened7: row.happened7 }),
  ...(row.outcome === null || row.outcome === undefined ? {} : { outcome: row.outcome }),
  ...(row.outcome_days === null ? {} : { outcomeDays: row.outcome_days }),
  ...(row.figures === null ? {} : { figures: row.figures }),
});
