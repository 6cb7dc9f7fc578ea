import type { MessagePlace, NodeName } from '@duskline/domain';
import type { Sql } from 'postgres';

export interface CommittedPlaces {
  /**
   * How far each boot is committed of which a message came lately: what a server that was killed between its commit and its
   * acknowledgement did not get out.
   *
   * @param sinceMs  by the time of receipt, Unix ms
   * @returns one place for each boot that was heard since and has no gap before it
   */
  committedSince(
    sinceMs: number,
  ): Promise<readonly { readonly node: NodeName; readonly place: MessagePlace }[]>;
}

export function createCommittedPlaces(sql: Sql): CommittedPlaces {
  return {
    async committedSince(sinceMs) {
      const rows = await sql<{ name: NodeName; boot: number; upto: number }[]>`
        select node.name, mark.boot, (upper(first_range) - 1)::float8 as upto
        from (
          select distinct node_id, boot from message where received_at >= to_timestamp(${sinceMs}::float8 / 1000)
        ) heard
        join boot_watermark mark using (node_id, boot)
        join node on node.id = mark.node_id
        cross join lateral (select first_range from unnest(mark.seqs) first_range limit 1) first
        where lower(first_range) <= 1
        order by node.name, mark.boot`;
      return rows.map(({ name, boot, upto }) => ({ node: name, place: { boot, seq: upto } }));
    },
  };
}
