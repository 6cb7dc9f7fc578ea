import type { DataPlan, SiteId, WorkNotice } from '@duskline/domain';
import type { Sql } from 'postgres';
import { storableJson } from './array-literal.ts';

/** What people know of a site and its node that no reading says. */
export interface MarkStore {
  /** What is left out stays; null takes it away. The node is looked at again at once. */
  set(
    siteId: SiteId,
    marks: {
      readonly critical?: boolean;
      readonly link?: string | null;
      readonly dataPlan?: DataPlan | null;
      readonly offForWork?: WorkNotice | null;
    },
  ): Promise<void>;
}

export function createMarkStore(sql: Sql): MarkStore {
  const json = (value: unknown) => (value == null ? null : storableJson(value));
  return {
    async set(siteId, { critical, link, dataPlan, offForWork }) {
      await sql`
        with marked as (
          update site set critical = coalesce(${critical ?? null}::boolean, critical) where id = ${siteId}
        ),
        noted as (
          update node set
            link = case when ${link !== undefined} then ${link ?? null}::text else link end,
            data_plan = case when ${dataPlan !== undefined} then ${json(dataPlan)}::text::jsonb else data_plan end,
            off_for_work = case when ${offForWork !== undefined} then ${json(offForWork)}::text::jsonb
              else off_for_work end
          where site_id = ${siteId}
          returning id
        )
        update node_pulse set news_version = news_version + 1
        where node_id in (select id from noted)`;
    },
  };
}
