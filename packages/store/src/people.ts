import { accountId, type Account, type AccountId, type Person, type Role } from '@duskline/domain';
import type { Sql } from 'postgres';
import { storableJson, storableText } from './array-literal.ts';
import { refusingConflicts } from './conflicts.ts';
import type { Invitation, PeopleStore } from './people-store.ts';

export function createPeopleStore(sql: Sql): PeopleStore {
  const persons = async (id: AccountId | null): Promise<readonly Person[]> => {
    const rows = await sql<PersonRow[]>`
      select account.id, email, name, role, phone, time_zone, quiet_from, quiet_until, ended_at,
        coalesce((select array_agg(group_id::text order by group_id) from account_group
          where account_group.account_id = account.id), '{}') as groups,
        coalesce((select jsonb_agg(jsonb_build_object('id', id, 'kind', kind, 'address', address)
            || case when fault is null then '{}'::jsonb else jsonb_build_object('fault', fault) end
            order by position, created_at, id)
          from channel where channel.account_id = account.id and channel.ended_at is null), '[]') as channels
      from account
      where ${id}::uuid is null or account.id = ${id}::uuid
      order by name, account.id`;
    return rows.map(personOf);
  };
  const find = async (id: AccountId) => (isUuid(id) ? (await persons(id))[0] : undefined);
  return {
    list: () => persons(null),
    find,
    async change(id, change) {
      if (!isUuid(id)) return undefined;
      // Groups that were ended meanwhile are left out.
      await sql`
        with kept as (
          update account set
            name = coalesce(${change.name === undefined ? null : storableText(change.name)}, name),
            phone = coalesce(${change.phone === undefined ? null : storableText(change.phone)}, phone),
            time_zone = coalesce(${change.timeZone ?? null}, time_zone),
            quiet_from = coalesce(${change.quiet?.fromMinute ?? null}::integer, quiet_from),
            quiet_until = coalesce(${change.quiet?.untilMinute ?? null}::integer, quiet_until),
            role = coalesce(${change.role ?? null}, role)
          where id = ${id}::uuid
          returning id
        ),
        left_out as (
          delete from account_group
          where ${change.groups !== undefined} and account_id = ${id}::uuid
            and group_id::text <> all(${[...(change.groups ?? [])]}::text[])
        )
        insert into account_group (account_id, group_id)
        select kept.id, site_group.id from kept
        join site_group on site_group.id::text = any(${[...(change.groups ?? [])]}::text[])
        on conflict do nothing`;
      return find(id);
    },
    async end(id, nowMs) {
      if (!isUuid(id)) return false;
      const rows = await sql`
        with over as (
          update account set ended_at = to_timestamp(${nowMs}::float8 / 1000)
          where id = ${id}::uuid and ended_at is null
          returning id
        ),
        sessions as (delete from session where account_id in (select id from over)),
        tokens as (delete from api_token where account_id in (select id from over)),
        shifts as (
          update shift set ended_at = to_timestamp(${nowMs}::float8 / 1000)
          where account_id in (select id from over) and ended_at is null
        ),
        swaps as (delete from shift_swap where to_id in (select id from over)),
        channels as (
          update channel set ended_at = to_timestamp(${nowMs}::float8 / 1000)
          where account_id in (select id from over) and ended_at is null
        )
        select id from over`;
      return rows.length === 1;
    },
    async addChannel(id, { kind, address, keys = {} }) {
      const [row] = await sql<Person['channels'][number][]>`
        insert into channel (account_id, kind, address, keys, position)
        values (
          ${id}::uuid, ${kind}, ${address}, ${storableJson(keys)}::text::jsonb,
          case ${kind} when 'push' then 0 when 'email' then 1 when 'text' then 2 else 3 end
        )
        on conflict (account_id, kind, address) where ended_at is null
          do update set keys = excluded.keys, fault = null
        returning id, kind, address`;
      if (row === undefined) throw new Error('The channel was not kept.');
      return { ...row };
    },
    async endChannel(id, channelId, nowMs) {
      const rows = await sql`
        update channel set ended_at = to_timestamp(${nowMs}::float8 / 1000)
        where account_id = ${id}::uuid and id::text = ${channelId} and ended_at is null
        returning id`;
      return rows.length === 1;
    },
    async invitations(nowMs) {
      const rows = await sql<InvitationRow[]>`
        select id, email, name, role, groups::text[] as groups, by, expires_at from invitation
        where used_at is null and expires_at > to_timestamp(${nowMs}::float8 / 1000)
        order by created_at desc, id`;
      return rows.map(invitationOf);
    },
    async invite(invitation) {
      const [row] = await sql<InvitationRow[]>`
        with before as (
          delete from invitation where lower(email) = lower(${invitation.email}) and used_at is null
        )
        insert into invitation (token_hash, email, name, role, groups, by, expires_at)
        values (
          ${invitation.tokenHash}, ${invitation.email}, ${storableText(invitation.name)}, ${invitation.role},
          ${[...invitation.groups]}::uuid[], ${invitation.by}, to_timestamp(${invitation.expiresAtMs}::float8 / 1000)
        )
        returning id, email, name, role, groups::text[] as groups, by, expires_at`;
      if (row === undefined) throw new Error('The invitation was not kept.');
      return invitationOf(row);
    },
    async findInvitation(tokenHash, nowMs) {
      const [row] = await sql<InvitationRow[]>`
        select id, email, name, role, groups::text[] as groups, by, expires_at from invitation
        where token_hash = ${tokenHash} and used_at is null
          and expires_at > to_timestamp(${nowMs}::float8 / 1000)`;
      return row && invitationOf(row);
    },
    async acceptInvitation(tokenHash, { name, passwordHash, timeZone }, nowMs) {
      const [row] = await refusingConflicts(
        'There is an account for this address already.',
        () =>
          sql<{ id: string; email: string; name: string; role: Role }[]>`
          with used as (
            update invitation set used_at = to_timestamp(${nowMs}::float8 / 1000)
            where token_hash = ${tokenHash} and used_at is null
              and expires_at > to_timestamp(${nowMs}::float8 / 1000)
            returning email, role, groups
          ),
          made as (
            insert into account (email, name, role, password_hash, time_zone)
            select email, ${storableText(name)}, role, ${passwordHash}, ${timeZone} from used
            returning id, email, name, role
          ),
          reached as (
            insert into channel (account_id, kind, address, position) select id, 'email', email, 1 from made
          ),
          grouped as (
            insert into account_group (account_id, group_id)
            select made.id, site_group.id from made, used, site_group where site_group.id = any(used.groups)
          )
          select id, email, name, role from made`,
      );
      return row && ({ ...row, id: accountId(row.id) } satisfies Account);
    },
    async endInvitation(id) {
      const rows = await sql`
        delete from invitation where id::text = ${id} and used_at is null returning id`;
      return rows.length === 1;
    },
  };
}

interface PersonRow extends Pick<Person, 'email' | 'name' | 'role' | 'phone' | 'groups'> {
  readonly id: string;
  readonly time_zone: string;
  readonly quiet_from: number;
  readonly quiet_until: number;
  readonly ended_at: number | null;
  readonly channels: Person['channels'];
}

const personOf = (row: PersonRow): Person => ({
  id: accountId(row.id),
  email: row.email,
  name: row.name,
  role: row.role,
  phone: row.phone,
  timeZone: row.time_zone,
  quiet: { fromMinute: row.quiet_from, untilMinute: row.quiet_until },
  groups: row.groups,
  channels: row.channels,
  ...(row.ended_at === null ? {} : { endedAtMs: row.ended_at }),
});

type InvitationRow = Omit<Invitation, 'expiresAtMs'> & { readonly expires_at: number };

const invitationOf = ({ expires_at, ...row }: InvitationRow): Invitation => ({
  ...row,
  expiresAtMs: expires_at,
});

const UUID = /^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$/i;
export const isUuid = (text: string): boolean => UUID.test(text);
