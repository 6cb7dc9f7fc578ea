import type { Sql } from 'postgres';

/** Attempts counted by all servers together. Keys are hashes, of fixed length. */
export interface SignInCountStore {
  /**
   * Counts one attempt against every key, unless one of them has had its most within the span.
   *
   * @returns 0 when it was counted, else for how long it must wait
   */
  admit(
    limits: readonly { readonly key: Uint8Array; readonly most: number }[],
    spanMs: number,
    nowMs: number,
  ): Promise<number>;
  forget(key: Uint8Array): Promise<void>;
}

export function createSignInCountStore(sql: Sql): SignInCountStore {
  const hex = (bytes: Uint8Array): string => Buffer.from(bytes).toString('hex');
  return {
    async admit(limits, spanMs, nowMs) {
      const [row] = await sql<{ waitMs: number }[]>`
        select admit_sign_in(
          (select array_agg(decode(key, 'hex') order by place)
           from unnest(${limits.map(({ key }) => hex(key))}::text[]) with ordinality as one (key, place)),
          ${limits.map(({ most }) => String(most))}::text[]::integer[],
          make_interval(secs => ${spanMs}::float8 / 1000),
          to_timestamp(${nowMs}::float8 / 1000)) as "waitMs"`;
      return row?.waitMs ?? 0;
    },
    async forget(key) {
      await sql`delete from sign_in_try where key = decode(${hex(key)}, 'hex')`;
    },
  };
}
