import type { AccountId } from '@duskline/domain';
import type { Sql } from 'postgres';
import type { TokenStore } from './people-store.ts';

/** Looking through one's tokens, and ending them. */
export function createTokenStore(sql: Sql): TokenStore {
  return {
    async list(account: AccountId) {
      const rows = await sql<
        { id: string; name: string; created_at: number; expires_at: number | null }[]
      >`
        select id::text, name, created_at, expires_at from api_token
        where account_id = ${account}::uuid
        order by created_at desc, id`;
      return rows.map(({ created_at, expires_at, ...row }) => ({
        ...row,
        createdAtMs: created_at,
        ...(expires_at === null ? {} : { expiresAtMs: expires_at }),
      }));
    },
    async end(account, id) {
      const rows = await sql`
        delete from api_token where account_id = ${account}::uuid and id::text = ${id} returning id`;
      return rows.length === 1;
    },
  };
}
