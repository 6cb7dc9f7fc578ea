import {
  visitMovedSentence,
  visitPlannedSentence,
  type SiteId,
  type VisitMoved,
  type VisitPlan,
} from '@duskline/domain';
import { sql as kyselySql, type Kysely } from 'kysely';
import { storableJson, storableText } from './array-literal.ts';
import { instant } from './database/epoch-ms.ts';
import { StoreConflictError } from './errors.ts';
import type { Tables } from './schema.ts';
import type { VisitMove } from './visit-store.ts';

/**
 * What is new of it goes into the logbook of its site, and to every server (`pg_notify` on `duskline_plans`), and through it to
 * every page that shows visits.
 */
export async function keepPlans(
  trx: Kysely<Tables>,
  plans: readonly Omit<VisitPlan, 'person'>[],
): Promise<void> {
  const { rows: fresh } = await kyselySql<{ id: string; person: string; time_zone: string }>`
    with kept as (
      insert into visit (id, site_id, round_id, place, planned_at, person_id, why, planned_by, made_at)
      select (given ->> 'id')::uuid, given ->> 'siteId', (given -> 'round' ->> 'id')::uuid,
        coalesce((given -> 'round' ->> 'place')::integer, 0), to_timestamp((given ->> 'plannedAtMs')::float8 / 1000),
        (given ->> 'personId')::uuid, given ->> 'why', given ->> 'plannedBy',
        to_timestamp((given ->> 'madeAtMs')::float8 / 1000)
      from jsonb_array_elements(${storableJson(plans)}::text::jsonb) given
      on conflict (id) do nothing
      returning id, site_id, person_id
    )
    select kept.id, account.name as person, site.time_zone
    from kept join account on account.id = kept.person_id join site on site.id = kept.site_id`.execute(
    trx,
  );
  for (const { id, person, time_zone: timeZone } of fresh) {
    const plan = plans.find((one) => one.id === id);
    if (plan === undefined) throw new Error('keepPlans: a visit was kept that nobody gave');
    const at = { siteId: plan.siteId, atMs: plan.madeAtMs, by: plan.plannedBy };
    await writeDown(trx, at, visitPlannedSentence(plan, person, timeZone));
    await tellPlans(trx, plan.siteId);
  }
}

/** A line in the logbook of a site. */
export const writeDown = (
  trx: Kysely<Tables>,
  at: { readonly siteId: SiteId; readonly atMs: number; readonly by: string },
  sentence: string,
) =>
  kyselySql`
    insert into site_event (site_id, at, kind, sentence, by)
    values (${at.siteId}, ${instant(at.atMs)}, 'visit', ${storableText(sentence)}, ${at.by})`.execute(
    trx,
  );

export const tellPlans = (trx: Kysely<Tables>, siteId: SiteId) =>
  kyselySql`select pg_notify('duskline_plans', ${`visit ${siteId}`})`.execute(trx);

/** @returns false when there is nothing that can be moved */
export async function keepMove(trx: Kysely<Tables>, id: string, move: VisitMove): Promise<boolean> {
  const { rows } = await kyselySql<{
    site_id: SiteId;
    time_zone: string;
    planned_at: number;
    person_id: string;
    person: string;
  }>`
    select visit.site_id, site.time_zone, visit.planned_at, visit.person_id, account.name as person
    from visit join site on site.id = visit.site_id join account on account.id = visit.person_id
    where visit.id = ${id}::uuid and visit.state = 'planned'
    for update of visit`.execute(trx);
  const [visit] = rows;
  if (visit === undefined) return false;
  // Sent a second time: nothing is told twice.
  if (visit.planned_at === move.plannedAtMs && visit.person_id === move.personId) return true;
  const { rows: people } = await kyselySql<{ name: string }>`
    select name from account where id = ${move.personId}::uuid`.execute(trx);
  const person = people[0]?.name;
  if (person === undefined) throw new StoreConflictError('There is no such person.');
  const moved: VisitMoved = {
    atMs: move.nowMs,
    by: move.by,
    why: move.why,
    fromMs: visit.planned_at,
    toMs: move.plannedAtMs,
    fromPerson: visit.person,
    toPerson: person,
  };
  await kyselySql`
    update visit set planned_at = ${instant(move.plannedAtMs)}, person_id = ${move.personId}::uuid,
      round_id = null, place = 0, moves = moves || ${storableJson([moved])}::text::jsonb
    where id = ${id}::uuid`.execute(trx);
  await writeDown(
    trx,
    { siteId: visit.site_id, atMs: move.nowMs, by: move.by },
    visitMovedSentence(move, person, visit.time_zone),
  );
  await tellPlans(trx, visit.site_id);
  return true;
}
