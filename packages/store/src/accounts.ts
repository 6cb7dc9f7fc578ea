import { accountId, type Account, type SiteId } from '@duskline/domain';
import { sql, type Kysely, type Selectable } from 'kysely';
import { refusingConflicts } from './conflicts.ts';
import type { Tables } from './schema.ts';
import type { AccountStore } from './store.ts';

export function createAccountStore(db: Kysely<Tables>): AccountStore {
  return {
    async create({ email, name, role, passwordHash }) {
      const row = await refusingConflicts(`There is an account for ${email} already.`, () =>
        db
          .insertInto('account')
          .values({ email, name, role, password_hash: passwordHash })
          .returning(['id', 'email', 'name', 'role'])
          .executeTakeFirstOrThrow(),
      );
      return accountOf(row);
    },
    async findByEmail(email) {
      const row = await db
        .selectFrom('account')
        .selectAll()
        .where((column) => column.fn('lower', ['email']), '=', email.toLowerCase())
        .where('ended_at', 'is', null)
        .executeTakeFirst();
      return row && { account: accountOf(row), passwordHash: row.password_hash };
    },
    async count() {
      const { count } = await db
        .selectFrom('account')
        .select((column) => column.fn.countAll<number>().as('count'))
        .executeTakeFirstOrThrow();
      return count;
    },
    async createSession(account, tokenHash, expiresAtMs) {
      await db
        .insertInto('session')
        .values({ token_hash: tokenHash, account_id: account, expires_at: expiresAtMs })
        .execute();
    },
    async findSession(tokenHash) {
      // One that was not used for twelve hours is over. Use is noted every few minutes, not at every request.
      const { rows } = await sql<AccountRow>`
        with found as (
          select token_hash, account_id, seen_at from session
          where token_hash = ${tokenHash} and expires_at > now() and seen_at > now() - interval '12 hours'
        ),
        used as (
          update session set seen_at = now() from found
          where session.token_hash = found.token_hash and found.seen_at < now() - interval '5 minutes'
        )
        select ${accountColumns} from account join found on found.account_id = account.id
        where account.ended_at is null`.execute(db);
      return rows[0] && accountOf(rows[0]);
    },
    async endSession(tokenHash) {
      await db
        .deleteFrom('session')
        .where((column) =>
          column.or([
            column('token_hash', '=', tokenHash),
            column('expires_at', '<', sql<number>`now() - interval '1 day'`),
          ]),
        )
        .execute();
    },
    async createToken({ accountId: account, name, tokenHash, expiresAtMs }) {
      await db
        .insertInto('api_token')
        .values({
          token_hash: tokenHash,
          account_id: account,
          name,
          expires_at: expiresAtMs ?? null,
        })
        .execute();
    },
    async findToken(tokenHash) {
      const { rows } = await sql<AccountRow>`
        select ${accountColumns} from account join api_token on api_token.account_id = account.id
        where token_hash = ${tokenHash} and coalesce(expires_at, 'infinity') > now() and account.ended_at is null`.execute(
        db,
      );
      return rows[0] && accountOf(rows[0]);
    },
  };
}

type AccountRow = Pick<Selectable<Tables['account']>, 'id' | 'email' | 'name' | 'role'> & {
  readonly only_sites?: readonly string[] | null;
};

/** A volunteer who belongs to groups of sites sees the sites of those groups only. */
const accountColumns = sql`
  account.id, account.email, account.name, account.role,
  case when account.role = 'volunteer' and exists (select from account_group where account_id = account.id) then (
    select coalesce(array_agg(distinct site_id order by site_id), '{}') from account_group
    join site_group_site using (group_id) where account_id = account.id
  ) end as only_sites`;

const accountOf = (row: AccountRow): Account => ({
  id: accountId(row.id),
  email: row.email,
  name: row.name,
  role: row.role,
  ...(row.only_sites == null ? {} : { onlySites: row.only_sites as readonly SiteId[] }),
});
