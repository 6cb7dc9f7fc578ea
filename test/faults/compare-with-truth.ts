import postgres from 'postgres';
import { metrics, observedAtMs, truth } from './pretend-node.ts';

/** What became of one node's messages. All three are to be empty. */
export interface Verdict {
  readonly stored: number;
  readonly lost: readonly number[];
  readonly doubled: readonly number[];
  /** Stored, but never published, or with other values. */
  readonly phantom: readonly string[];
}

/** Reads every stored sample of a node, past all code of ours, and holds it against the truth. */
export async function compareWithTruth(
  databaseUrl: string,
  node: {
    readonly id: number;
    readonly index: number;
    readonly published: number;
    readonly startMs: number;
  },
): Promise<Verdict> {
  const sql = postgres(databaseUrl, { max: 1, onnotice: () => undefined });
  try {
    const rows = await sql<{ at: number; keys: string[]; vals: number[] }[]>`
      select extract(epoch from s.observed_at)::float8 * 1000 as at, s."values" as vals,
        array(select m.key from unnest(l.metric_ids) with ordinality u (id, place) join metric m on m.id = u.id order by place) as keys
      from sample s join layout l on l.id = s.layout_id where s.node_id = ${node.id}`;
    const seen = new Map<number, number>();
    const phantom: string[] = [];
    for (const { at, keys, vals } of rows) {
      const seq = Math.round((at - node.startMs) / 1000);
      seen.set(seq, (seen.get(seq) ?? 0) + 1);
      const right =
        seq >= 1 &&
        seq <= node.published &&
        Math.round(at) === observedAtMs(node.startMs, seq) &&
        keys.join() === metrics.join() &&
        metrics.every((_, metric) => vals[metric] === truth(node.index, metric, seq));
      if (!right) phantom.push(`${at}: ${keys.join()} = ${vals.join()}`);
    }
    const all = Array.from({ length: node.published }, (_, i) => i + 1);
    return {
      stored: rows.length,
      lost: all.filter((seq) => !seen.has(seq)),
      doubled: all.filter((seq) => (seen.get(seq) ?? 0) > 1),
      phantom,
    };
  } finally {
    await sql.end();
  }
}
