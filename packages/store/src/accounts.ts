import { accountId, type Account } from '@duskline/domain';
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
      const row = await db
        .selectFrom('session')
        .innerJoin('account', 'account.id', 'session.account_id')
        .select(['account.id', 'account.email', 'account.name', 'account.role'])
        .where('session.token_hash', '=', tokenHash)
        .where('session.expires_at', '>', sql<number>`now()`)
        .executeTakeFirst();
      return row && accountOf(row);
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
      const row = await db
        .selectFrom('api_token')
        .innerJoin('account', 'account.id', 'api_token.account_id')
        .select(['account.id', 'account.email', 'account.name', 'account.role'])
        .where('api_token.token_hash', '=', tokenHash)
        .where(sql<boolean>`coalesce(api_token.expires_at, 'infinity') > now()`)
        .executeTakeFirst();
      return row && accountOf(row);
    },
  };
}

const accountOf = (
  row: Pick<Selectable<Tables['account']>, 'id' | 'email' | 'name' | 'role'>,
): Account => ({ id: accountId(row.id), email: row.email, name: row.name, role: row.role });
