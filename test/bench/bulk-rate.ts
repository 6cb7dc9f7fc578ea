import postgres from 'postgres';

const BATCH = 1000;
const AT_ONCE = 2;

/**
 * The yardstick: the very rows that came through MQTT, written again by bare bulk statements into an empty table of the same
 * shape and key, with nothing else to do (no decoding, ledger, latest, rollup marks). Rows a second.
 */
export async function measureBulk(
  url: string,
): Promise<{ readonly rows: number; readonly seconds: number }> {
  const sql = postgres(url, { max: AT_ONCE, onnotice: () => undefined });
  try {
    await sql`create table bench_bulk (node_id int not null, layout_id int not null, observed_at timestamptz not null,
      received_at timestamptz not null, "values" double precision[] not null, primary key (node_id, layout_id, observed_at))`;
    const rows = await sql<
      { node_id: number; at_ms: number; layout_id: number; vals: string }[]
    >`select node_id, (extract(epoch from observed_at) * 1000)::float8 as at_ms, layout_id, "values"::text as vals
      from sample order by observed_at limit 200000`;
    const batches: (typeof rows)[number][][] = [];
    for (let i = 0; i < rows.length; i += BATCH) batches.push(rows.slice(i, i + BATCH));
    const startedMs = performance.now();
    const work = async () => {
      for (let batch = batches.shift(); batch !== undefined; batch = batches.shift())
        await sql`insert into bench_bulk
          select n, l, to_timestamp(t / 1000), now(), v::float8[]
          from unnest(${batch.map((row) => row.node_id)}::int[], ${batch.map((row) => row.at_ms)}::float8[],
            ${batch.map((row) => row.layout_id)}::int[], ${batch.map((row) => row.vals)}::text[]) as u(n, t, l, v)
          on conflict do nothing`;
    };
    await Promise.all(Array.from({ length: AT_ONCE }, work));
    const seconds = (performance.now() - startedMs) / 1000;
    await sql`drop table bench_bulk`;
    return { rows: rows.length, seconds };
  } finally {
    await sql.end();
  }
}
