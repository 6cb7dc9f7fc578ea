import type { LatestReading } from '@duskline/domain';
import type { Sql } from 'postgres';
import type { Layouts } from './layouts.ts';
import type { Store } from './store.ts';

export function createLatestStore(sql: Sql, layouts: Layouts): Store['latest'] {
  return {
    async of(node) {
      const rows = await sql<{ metricId: number; observedAtMs: number; value: number }[]>`
        select distinct on (reading.metric_id)
          reading.metric_id as "metricId", latest.observed_at as "observedAtMs", reading.value
        from node_latest latest
        join layout on layout.id = latest.layout_id
        cross join lateral unnest(layout.metric_ids, latest.values) reading (metric_id, value)
        where latest.node_id = ${node}
        order by reading.metric_id, latest.observed_at desc, reading.value desc`;
      const readings: LatestReading[] = [];
      for (const { metricId, observedAtMs, value } of rows) {
        const metric = await layouts.metricKey(metricId);
        if (metric !== undefined) readings.push({ metric, observedAtMs, value });
      }
      return readings;
    },
  };
}
