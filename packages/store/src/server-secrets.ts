import type { Sql } from 'postgres';

export interface ServerSecretStore {
  /**
   * The secret of this name, kept when there is none yet. Of several servers that offer one at once all get the same.
   *
   * @param offered what is kept if nothing was
   */
  keep(name: string, offered: string): Promise<string>;
}

export function createServerSecretStore(sql: Sql): ServerSecretStore {
  return {
    async keep(name, offered) {
      await sql`
        insert into server_secret (name, value) values (${name}, ${offered}) on conflict (name) do nothing`;
      const [row] = await sql<{ value: string }[]>`
        select value from server_secret where name = ${name}`;
      if (row === undefined) throw new Error(`The secret ${name} was not kept.`);
      return row.value;
    },
  };
}
