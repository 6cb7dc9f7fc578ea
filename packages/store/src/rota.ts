import { accountId, type Shift, type SiteGroup } from '@duskline/domain';
import type { Sql } from 'postgres';
import { storableJson, storableText } from './array-literal.ts';
import { refusingConflicts } from './conflicts.ts';
import type { AuditEntry, AuditStore, RotaStore, SiteGroupStore } from './people-store.ts';
import { isUuid } from './people.ts';

export function createSiteGroupStore(sql: Sql): SiteGroupStore {
  const groups = async (id: string | null): Promise<readonly SiteGroup[]> => [
    ...(await sql<SiteGroup[]>`
      select id::text, name, coalesce((
          select array_agg(site_id order by site_id) from site_group_site where group_id = site_group.id
        ), '{}') as "siteIds"
      from site_group
      where ${id}::uuid is null or id = ${id}::uuid
      order by name, id`),
  ];
  const refusing = <T>(create: () => Promise<T>) =>
    refusingConflicts('There is a group of this name, or no such site.', create);
  return {
    list: () => groups(null),
    async create(name, siteIds) {
      const rows = await refusing(
        () => sql<{ id: string }[]>`
          with made as (
            insert into site_group (name) values (${storableText(name)}) returning id
          ),
          filled as (
            insert into site_group_site (group_id, site_id)
            select made.id, given from made, unnest(${[...siteIds]}::text[]) given
          )
          select id::text from made`,
      );
      const [made] = await groups(rows[0]?.id ?? '');
      if (made === undefined) throw new Error('The group was not kept.');
      return made;
    },
    async change(id, name, siteIds) {
      if (!isUuid(id)) return undefined;
      await refusing(
        () => sql`
          with kept as (
            update site_group set name = ${storableText(name)} where id = ${id}::uuid returning id
          ),
          left_out as (
            delete from site_group_site
            where group_id = ${id}::uuid and site_id <> all(${[...siteIds]}::text[])
          )
          insert into site_group_site (group_id, site_id)
          select kept.id, given from kept, unnest(${[...siteIds]}::text[]) given
          on conflict do nothing`,
      );
      return (await groups(id))[0];
    },
    async remove(id) {
      const rows = await sql`delete from site_group where id::text = ${id} returning id`;
      return rows.length === 1;
    },
  };
}

export function createRotaStore(sql: Sql): RotaStore {
  const shifts = async (id: string | null): Promise<readonly Shift[]> => {
    const rows = await sql<ShiftRow[]>`
      select id::text, account_id::text, group_id::text, start_local, duration_minutes, time_zone, recurrence,
        exceptions, coalesce((
          select jsonb_agg(jsonb_build_object('start', swap.start_local, 'to', swap.to_id) order by swap.start_local)
          from shift_swap swap where swap.shift_id = shift.id
        ), '[]') as swaps
      from shift
      where ended_at is null and (${id}::uuid is null or id = ${id}::uuid)
      order by start_local, id`;
    return rows.map(shiftOf);
  };
  const refusing = <T>(create: () => Promise<T>) =>
    refusingConflicts('There is no such person or group.', create);
  return {
    shifts: () => shifts(null),
    async add(shift) {
      const [row] = await refusing(
        () => sql<{ id: string }[]>`
          with made as (
            insert into shift (account_id, group_id, start_local, duration_minutes, time_zone, recurrence)
            values (
              ${shift.personId}::uuid, ${shift.groupId ?? null}::uuid, ${shift.start}, ${shift.durationMinutes},
              ${shift.timeZone}, ${shift.recurrence}
            )
            returning id::text
          )
          select id, ${told(sql)} from made`,
      );
      const [made] = await shifts(row?.id ?? '');
      if (made === undefined) throw new Error('The shift was not kept.');
      return made;
    },
    async end(id, nowMs) {
      const rows = await sql`
        with ended as (
          update shift set ended_at = to_timestamp(${nowMs}::float8 / 1000)
          where id::text = ${id} and ended_at is null
          returning id
        )
        select id, ${told(sql)} from ended`;
      return rows.length === 1;
    },
    async except(id, start) {
      if (!isUuid(id)) return undefined;
      await sql`
        with left_out as (
          update shift set exceptions = exceptions || ${start}::text
          where id = ${id}::uuid and not ${start} = any(exceptions)
          returning id
        )
        select ${told(sql)} from left_out`;
      return (await shifts(id))[0];
    },
    async swap(id, { start, to }, { name, atMs }) {
      if (!isUuid(id)) return undefined;
      await refusing(
        () => sql`
          with swapped as (
            insert into shift_swap (shift_id, start_local, to_id, by, at)
            select shift.id, ${start}, ${to}::uuid, ${name}, to_timestamp(${atMs}::float8 / 1000)
            from shift where shift.id = ${id}::uuid and ended_at is null
            on conflict (shift_id, start_local) do update
              set to_id = excluded.to_id, by = excluded.by, at = excluded.at
            returning shift_id
          )
          select ${told(sql)} from swapped`,
      );
      return (await shifts(id))[0];
    },
  };
}

/** Every server hears that duties have changed, and tells the pages that show them. */
const told = (sql: Sql) => sql`pg_notify('duskline_plans', 'rota')`;

interface ShiftRow {
  readonly id: string;
  readonly account_id: string;
  readonly group_id: string | null;
  readonly start_local: string;
  readonly duration_minutes: number;
  readonly time_zone: string;
  readonly recurrence: string;
  readonly exceptions: readonly string[];
  readonly swaps: Shift['swaps'];
}

const shiftOf = (row: ShiftRow): Shift => ({
  id: row.id,
  personId: accountId(row.account_id),
  ...(row.group_id === null ? {} : { groupId: row.group_id }),
  start: row.start_local,
  durationMinutes: row.duration_minutes,
  timeZone: row.time_zone,
  recurrence: row.recurrence,
  exceptions: row.exceptions,
  swaps: row.swaps,
});

export function createAuditStore(sql: Sql): AuditStore {
  const json = (value: unknown) => (value === undefined ? null : storableJson(value));
  return {
    async add(entry) {
      await sql`
        insert into audit (at, kind, by, ip, subject, before, after)
        values (
          to_timestamp(${entry.atMs}::float8 / 1000), ${entry.kind}, ${entry.by ?? null}, ${entry.ip ?? null},
          ${storableText(entry.subject)}, ${json(entry.before)}::text::jsonb, ${json(entry.after)}::text::jsonb
        )`;
    },
    async list(limit, beforeMs) {
      const rows = await sql<AuditRow[]>`
        select at, kind, by, ip, subject, before, after from audit
        where at < coalesce(to_timestamp(${beforeMs ?? null}::float8 / 1000), 'infinity')
        order by at desc, id limit ${limit}`;
      return rows.map(({ at, by, ip, before, after, ...row }) => ({
        ...row,
        atMs: at,
        ...(by === null ? {} : { by }),
        ...(ip === null ? {} : { ip }),
        ...(before === null ? {} : { before }),
        ...(after === null ? {} : { after }),
      }));
    },
  };
}

interface AuditRow extends Pick<AuditEntry, 'kind' | 'subject' | 'before' | 'after'> {
  readonly at: number;
  readonly by: string | null;
  readonly ip: string | null;
}
