import type { MetricKey } from '@duskline/domain';
import type { Sql } from 'postgres';
import type { MessageStream } from '../generator/message-stream.ts';
import { truth } from '../generator/truth.ts';

/** What a node published, and what it was told that it may forget. */
export interface Published {
  readonly id: number;
  readonly index: number;
  readonly metrics: readonly MetricKey[];
  readonly streams: readonly Pick<MessageStream, 'plan' | 'published' | 'isAcknowledged'>[];
}

/** Counted in samples. All but the first four are to be 0. */
export interface Verdict {
  readonly published: number;
  readonly acknowledged: number;
  readonly stored: number;
  /** Messages of these nodes in quarantine. */
  readonly quarantined: number;
  /** Acknowledged and not stored. */
  readonly lost: number;
  /** More than one row for one node and time. */
  readonly doubled: number;
  /** Stored, but never published, or with other values. */
  readonly phantom: number;
  /** Counted as committed by the watermark, but not stored. */
  readonly ahead: number;
}

/**
 * Reads every stored sample of the nodes, past all code of ours, and holds it against the truth.
 *
 * @throws Error when two streams of a node measured at one instant: what was lost of one would be found in the other
 */
export async function compareWithTruth(
  sql: Sql,
  seed: number,
  nodes: readonly Published[],
): Promise<Verdict> {
  const verdicts: Verdict[] = [];
  for (const node of nodes) verdicts.push(await compareNode(sql, seed, node));
  const sum = (key: keyof Verdict) => verdicts.reduce((total, one) => total + one[key], 0);
  return {
    published: sum('published'),
    acknowledged: sum('acknowledged'),
    stored: sum('stored'),
    quarantined: sum('quarantined'),
    lost: sum('lost'),
    doubled: sum('doubled'),
    phantom: sum('phantom'),
    ahead: sum('ahead'),
  };
}

interface Row {
  readonly at: number;
  readonly keys: readonly string[];
  readonly vals: readonly number[];
}

async function compareNode(sql: Sql, seed: number, node: Published): Promise<Verdict> {
  refuseMeeting(node);
  const counts = node.streams.map(
    ({ plan, published }) => new Uint8Array(published() * plan.perMessage),
  );
  const keys = node.metrics.join();
  let stored = 0;
  let phantom = 0;
  const rows = sql<Row[]>`
    select extract(epoch from s.observed_at)::float8 * 1000 as at, s."values" as vals, l.keys
    from sample s
    join (
      select layout.id, array(
        select m.key from unnest(layout.metric_ids) with ordinality u (id, place)
        join metric m on m.id = u.id order by place) as keys
      from layout
    ) l on l.id = s.layout_id
    where s.node_id = ${node.id}`.cursor(5000);
  for await (const page of rows) {
    for (const row of page) {
      stored += 1;
      const atMs = Math.round(row.at);
      const place = placeOf(node.streams, atMs);
      const count = place === undefined ? undefined : counts[place.stream];
      const right =
        place !== undefined &&
        count !== undefined &&
        row.keys.join() === keys &&
        row.vals.every((value, i) => value === truth({ seed, node: node.index }, i, atMs));
      if (!right) phantom += 1;
      if (place !== undefined && count !== undefined)
        count[place.sample] = (count[place.sample] ?? 0) + 1;
    }
  }
  const found = node.streams.map((stream, i) => tally(stream, counts[i] ?? new Uint8Array()));
  const ahead = await countAhead(sql, node, counts);
  const [held] = await sql<{ count: number }[]>`
    select coalesce(sum(q.received), 0)::float8 as count
    from quarantine_day q join node on node.name = q.node where node.id = ${node.id}`;
  const sum = (key: 'published' | 'acknowledged' | 'lost' | 'doubled') =>
    found.reduce((total, one) => total + one[key], 0);
  return {
    published: sum('published'),
    acknowledged: sum('acknowledged'),
    lost: sum('lost'),
    doubled: sum('doubled'),
    quarantined: held?.count ?? 0,
    stored,
    phantom,
    ahead,
  };
}

function refuseMeeting({ index, streams }: Published): void {
  for (const [i, { plan, published }] of streams.entries()) {
    const others = streams.slice(i + 1);
    for (let sample = 0; sample < published() * plan.perMessage; sample++) {
      const atMs = plan.startMs + sample * plan.stepMs;
      const met = placeOf(others, atMs);
      if (met === undefined) continue;
      const boots = `${plan.boot} and ${others[met.stream]?.plan.boot}`;
      throw new Error(
        `boots ${boots} of node ${index} both measured at ${new Date(atMs).toISOString()}`,
      );
    }
  }
}

function placeOf(streams: Published['streams'], atMs: number) {
  for (const [stream, { plan, published }] of streams.entries()) {
    const sample = (atMs - plan.startMs) / plan.stepMs;
    if (Number.isInteger(sample) && sample >= 0 && sample < published() * plan.perMessage)
      return { stream, sample };
  }
  return undefined;
}

function tally({ plan, isAcknowledged }: Published['streams'][number], count: Uint8Array) {
  let [acknowledged, lost, doubled] = [0, 0, 0];
  count.forEach((rows, sample) => {
    const told = isAcknowledged(Math.floor(sample / plan.perMessage) + 1);
    if (told) acknowledged += 1;
    if (told && rows === 0) lost += 1;
    if (rows > 1) doubled += 1;
  });
  return { published: count.length, acknowledged, lost, doubled };
}

/** Samples of messages that the watermark counts as committed and that are not there. */
async function countAhead(
  sql: Sql,
  node: Published,
  counts: readonly Uint8Array[],
): Promise<number> {
  const ranges = await sql<{ boot: number; from: number; upto: number }[]>`
    select w.boot, lower(r)::float8 as "from", upper(r)::float8 - 1 as upto
    from boot_watermark w, unnest(w.seqs) r where w.node_id = ${node.id}`;
  let ahead = 0;
  for (const { boot, from, upto } of ranges) {
    const stream = node.streams.findIndex(({ plan }) => plan.boot === boot);
    const perMessage = node.streams[stream]?.plan.perMessage ?? 1;
    const count = counts[stream];
    for (let sample = (from - 1) * perMessage; sample < upto * perMessage; sample++)
      if ((count?.[sample] ?? 0) === 0) ahead += 1;
  }
  return ahead;
}
