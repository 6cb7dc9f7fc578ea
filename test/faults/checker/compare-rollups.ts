import type { Sql } from 'postgres';
import { waitFor } from '@duskline/test-harness';

/** Waits until no hour waits to be rolled up again, then computes every hour anew in plain SQL and compares. */
export async function compareRollups(
  sql: Sql,
  { withinMs }: { readonly withinMs: number },
): Promise<{ readonly hours: number; readonly wrong: number }> {
  await waitFor(
    'the hours to be rolled up',
    async () => (await sql`select from stale_hour limit 1`).length === 0,
    { withinMs, everyMs: 250 },
  );
  const [row] = await sql<{ hours: number; wrong: number }[]>`
    with plain as (
      select s.node_id, l.metric_ids[u.place] as metric_id, date_trunc('hour', s.observed_at) as hour_start,
        count(*) as count, sum(u.value) as sum, min(u.value) as min, max(u.value) as max
      from sample s
      join layout l on l.id = s.layout_id, unnest(s."values") with ordinality u (value, place)
      group by 1, 2, 3
    ),
    kept as (
      select node_id, metric_id, hour_start, sum(count) as count, sum(sum) as sum, min(min) as min, max(max) as max
      from rollup_hour group by 1, 2, 3
    )
    select count(*)::float8 as hours, count(*) filter (where
      plain.count is distinct from kept.count or plain.min is distinct from kept.min
      or plain.max is distinct from kept.max
      -- A sum of floats depends on the order in its last digits.
      or abs(plain.sum - kept.sum) > 1e-9 * greatest(1, abs(plain.sum)) or kept.sum is null or plain.sum is null
    )::float8 as wrong
    from plain full join kept using (node_id, metric_id, hour_start)`;
  return { hours: row?.hours ?? 0, wrong: row?.wrong ?? Number.NaN };
}
