import postgres from 'postgres';

/** Looked for so often: a lag may be told too long by this, never too short. */
const EVERY_MS = 100;
const REACH = '3 minutes';

/**
 * When fresh readings can be seen by a reader: looks into the sample table over a connection of its own, past all code of ours,
 * and notes for each new row of these nodes when it was first there.
 */
export function watchFresh(url: string, nodeIds: readonly number[], sinceMs: number) {
  const sql = postgres(url, { max: 1, onnotice: () => undefined });
  const seenAtMs = new Map<string, number>();
  let stopped = false;
  async function look(): Promise<void> {
    const rows = await sql<{ node: number; at: number }[]>`
      select node_id as node, round(extract(epoch from observed_at) * 1000)::float8 as at
      from sample
      where node_id = any(${[...nodeIds]}::integer[]) and layout_id = any(array(select id from layout))
        and observed_at >= greatest(to_timestamp(${sinceMs}::float8 / 1000), now() - ${REACH}::interval)`;
    const nowMs = Date.now();
    for (const { node, at } of rows) {
      const key = `${node} ${at}`;
      if (!seenAtMs.has(key)) seenAtMs.set(key, nowMs);
    }
  }
  const looking = (async () => {
    while (!stopped) {
      await look();
      await new Promise((resolve) => setTimeout(resolve, EVERY_MS));
    }
    await look();
  })();
  return {
    /** Ends the watch after a last look. */
    async stop(): Promise<void> {
      stopped = true;
      await looking;
      await sql.end();
    },
    /** From its observed time until it could be seen; undefined if it never was. */
    lagMs(nodeId: number, observedMs: number): number | undefined {
      const seen = seenAtMs.get(`${nodeId} ${observedMs}`);
      return seen === undefined ? undefined : seen - observedMs;
    },
  };
}
