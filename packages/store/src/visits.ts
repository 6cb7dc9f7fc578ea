import {
  accountId,
  FORGOTTEN_AFTER_MS,
  visitEventSentence,
  visitProgress,
  type SiteId,
  type VisitHorizon,
  type VisitMoved,
  type VisitState,
  type VisitStep,
  type VisitVerdict,
} from '@duskline/domain';
import { sql as kyselySql, type Kysely } from 'kysely';
import type { Sql } from 'postgres';
import { storableJson, storableText } from './array-literal.ts';
import { refusingConflicts } from './conflicts.ts';
import { instant } from './database/epoch-ms.ts';
import type { Database } from './database/open-database.ts';
import { StoreConflictError } from './errors.ts';
import { isUuid } from './people.ts';
import type { Tables } from './schema.ts';
import { keepMove, keepPlans, tellPlans, writeDown } from './visit-plans.ts';
import type { KeptVisit, VisitStore } from './visit-store.ts';

export function createVisitStore(database: Database<Tables>): VisitStore {
  const { sql } = database;
  const find = async (id: string): Promise<KeptVisit | undefined> => {
    if (!isUuid(id)) return undefined;
    return (await sql<VisitRow[]>`${visitRows(sql)} where v.id = ${id}::uuid`).map(visitOf)[0];
  };
  return {
    find,
    async plan(plans) {
      const rows = plans.map((plan) => ({ ...plan, why: storableText(plan.why) }));
      if (!plans.every(({ personId }) => isUuid(personId)))
        throw new StoreConflictError('There is no such person.');
      await refusingConflicts('There is no such site or person.', () =>
        database.transaction((trx) => keepPlans(trx, rows)),
      );
      const kept = await Promise.all(plans.map(({ id }) => find(id)));
      return kept.filter((one) => one !== undefined);
    },
    async list({ fromMs, toMs, siteId, states }) {
      const rows = await sql<VisitRow[]>`
        ${visitRows(sql)}
        where (
            v.planned_at >= to_timestamp(${fromMs}::float8 / 1000) and v.planned_at < to_timestamp(${toMs}::float8 / 1000)
            or v.set_out_at >= to_timestamp(${fromMs}::float8 / 1000) and v.set_out_at < to_timestamp(${toMs}::float8 / 1000)
            or v.back_at >= to_timestamp(${fromMs}::float8 / 1000) and v.back_at < to_timestamp(${toMs}::float8 / 1000)
          )
          and (${siteId ?? null}::text is null or v.site_id = ${siteId ?? null})
          and (${states === undefined} or v.state = any(${[...(states ?? [])]}::text[]))
        order by v.planned_at, v.round_id, v.place, v.id`;
      return rows.map(visitOf);
    },
    async lastDone() {
      const rows = await sql<{ site_id: SiteId; back_at: number }[]>`
        select site_id, max(back_at) as back_at from visit where state = 'done' group by site_id`;
      return new Map(rows.map((row) => [row.site_id, row.back_at]));
    },
    async step(id, steps, about) {
      if (!isUuid(id)) return undefined;
      await database.transaction((trx) => keepSteps(trx, id, { steps, ...about }));
      return find(id);
    },
    async move(id, move) {
      if (!isUuid(id)) return undefined;
      if (!isUuid(move.personId)) throw new StoreConflictError('There is no such person.');
      const moved = await refusingConflicts('There is no such person.', () =>
        database.transaction((trx) => keepMove(trx, id, move)),
      );
      return moved ? find(id) : undefined;
    },
    async out() {
      const rows = await sql<
        VisitRow[]
      >`${visitRows(sql)} where v.state = 'under-way' order by v.set_out_at, v.place, v.id`;
      return rows.map(visitOf);
    },
    async underWay(siteId, nowMs) {
      const rows = await sql`
        select from visit
        where site_id = ${siteId} and state = 'under-way'
          and set_out_at <= to_timestamp(${nowMs}::float8 / 1000)
          and back_by > to_timestamp(${nowMs - FORGOTTEN_AFTER_MS}::float8 / 1000)
        limit 1`;
      return rows.length > 0;
    },
    async unjudged(horizon, beforeMs) {
      const rows = await sql<VisitRow[]>`
        ${visitRows(sql)}
        where v.state = 'done' and v.back_at < to_timestamp(${beforeMs}::float8 / 1000)
          and ${sql(verdictColumn(horizon))} is null
        order by v.back_at limit 50`;
      return rows.map(visitOf);
    },
    async judge(id, verdict, nowMs) {
      const column = sql(verdictColumn(verdict.horizon));
      const rows = await sql`
        with judged as (
          update visit set ${column} = ${storableJson(verdict)}::text::jsonb
          where id = ${id}::uuid and ${column} is null
          returning site_id
        )
        insert into site_event (site_id, at, kind, sentence)
        select site_id, to_timestamp(${nowMs}::float8 / 1000), 'visit', ${storableText(sentenceCase(verdict.says))}
        from judged returning id`;
      return rows.length === 1;
    },
  };
}

const verdictColumn = (horizon: VisitHorizon): string =>
  horizon === '48h' ? 'verdict_48h' : 'verdict_14d';
const sentenceCase = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

const visitRows = (sql: Sql) => sql`
  select v.*, account.name as person, coalesce((
      select jsonb_agg(step.body) from visit_step step where step.visit_id = v.id
    ), '[]') as steps
  from visit v join account on account.id = v.person_id`;

interface VisitRow {
  readonly id: string;
  readonly site_id: SiteId;
  readonly round_id: string | null;
  readonly place: number;
  readonly planned_at: number;
  readonly person_id: string;
  readonly person: string;
  readonly why: string;
  readonly planned_by: string;
  readonly made_at: number;
  readonly moves: readonly VisitMoved[];
  readonly state: VisitState;
  readonly work: unknown;
  readonly verdict_48h: VisitVerdict | null;
  readonly verdict_14d: VisitVerdict | null;
  readonly steps: readonly VisitStep[];
}

const visitOf = (row: VisitRow): KeptVisit => ({
  id: row.id,
  siteId: row.site_id,
  ...(row.round_id === null ? {} : { round: { id: row.round_id, place: row.place } }),
  plannedAtMs: row.planned_at,
  personId: accountId(row.person_id),
  person: row.person,
  why: row.why,
  plannedBy: row.planned_by,
  madeAtMs: row.made_at,
  ...(row.moves.length === 0 ? {} : { moves: row.moves }),
  ...visitProgress(row.steps),
  verdicts: [row.verdict_48h, row.verdict_14d].filter((one) => one !== null),
  ...(row.work === null ? {} : { work: row.work }),
});

/** One transaction: two phones that report at once come one after the other, and each sees the other's steps. */
async function keepSteps(
  trx: Kysely<Tables>,
  id: string,
  about: {
    readonly steps: readonly VisitStep[];
    readonly by: string;
    readonly nowMs: number;
    readonly work?: unknown;
  },
): Promise<void> {
  const now = instant(about.nowMs);
  const { rows } = await kyselySql<{ site_id: SiteId; person: string; time_zone: string }>`
    select visit.site_id, account.name as person, site.time_zone
    from visit join account on account.id = person_id join site on site.id = visit.site_id
    where visit.id = ${id}::uuid
    for update of visit`.execute(trx);
  const [visit] = rows;
  if (visit === undefined) return;
  for (const step of about.steps) {
    const { rows: fresh } = await kyselySql`
      insert into visit_step (visit_id, id, at, received_at, by, body)
      values (${id}::uuid, ${step.id}::uuid, ${instant(step.atMs)}, ${now}, ${about.by}, ${storableJson(step)}::text::jsonb)
      on conflict do nothing
      returning id`.execute(trx);
    const sentence = visitEventSentence(step, visit.person, visit.time_zone);
    if (fresh.length === 0 || sentence === undefined) continue;
    await writeDown(trx, { siteId: visit.site_id, atMs: step.atMs, by: about.by }, sentence);
  }
  const { rows: all } = await kyselySql<{ body: VisitStep }>`
    select body from visit_step where visit_id = ${id}::uuid`.execute(trx);
  const progress = visitProgress(all.map(({ body }) => body));
  const work =
    progress.state === 'planned' || about.work === undefined ? null : storableJson(about.work);
  const at = (ms: number | undefined) =>
    ms === undefined ? kyselySql`null::timestamptz` : instant(ms);
  await kyselySql`
    with changed as (
      update visit set state = ${progress.state}, set_out_at = ${at(progress.setOutAtMs)},
        back_by = ${at(progress.backByMs)}, back_at = ${at(progress.backAtMs)},
        work = coalesce(work, ${work}::text::jsonb)
      where id = ${id}::uuid
    )
    update node_pulse set news_version = news_version + 1
    where node_id in (select id from node where site_id = ${visit.site_id})`.execute(trx);
  await tellPlans(trx, visit.site_id);
}
