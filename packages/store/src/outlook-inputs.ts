import { DAY_MS, HOUR_MS, type HourlyHistory, type NodeId } from '@duskline/domain';
import { sql as kyselySql, type Kysely } from 'kysely';
import { createHash } from 'node:crypto';
import type { Sql } from 'postgres';
import { arrayLiteral, storableJson } from './array-literal.ts';
import { instant } from './database/epoch-ms.ts';
import type { Tables } from './schema.ts';
import type { OutlookFacts, OutlookInputs } from './outlook-store.ts';

/** The order in which a day's series lie behind each other. */
const SERIES = [
  'panelW',
  'loadW',
  'chargeRatio',
  'batteryV',
  'batteryA',
  'batteryC',
  'airC',
] as const satisfies readonly (keyof HourlyHistory)[];

type Values = readonly (number | null)[];

interface HistoryDay {
  readonly digest: string;
  readonly hours: number;
  /** Series after series. */
  readonly values: Values;
}

/** Keeps what an outlook was made of; days of history that are kept already are only named. */
export async function keepOutlookInputs(
  trx: Kysely<Tables>,
  node: NodeId,
  at: { readonly issuedAtMs: number; readonly hindcast: boolean; readonly inputs: OutlookInputs },
): Promise<void> {
  const { history, learntAtMs, outsideId, facts } = at.inputs;
  const days = daysOf(history);
  const { rows } = await kyselySql<{ digest: string }>`
    select digest from history_day
    where node_id = ${node} and digest = any(${days.map(({ digest }) => digest)}::uuid[])`.execute(
    trx,
  );
  const known = new Set(rows.map(({ digest }) => digest));
  for (const { digest, hours, values } of days.filter((day) => !known.has(day.digest)))
    await kyselySql`
      insert into history_day (node_id, digest, hours, "values")
      values (${node}, ${digest}::uuid, ${hours}, ${arrayLiteral(values)}::float8[])
      on conflict do nothing`.execute(trx);
  await kyselySql`
    insert into outlook_input (node_id, issued_at, hindcast, history_start, history, learnt_at, outside_id, facts)
    values (
      ${node}, ${instant(at.issuedAtMs)}, ${at.hindcast}, ${instant(history.startMs)},
      ${days.map(({ digest }) => digest)}::uuid[],
      to_timestamp(${learntAtMs ?? null}::float8 / 1000), ${outsideId ?? null}::bigint, ${storableJson(facts)}::text::jsonb
    )
    on conflict (node_id, issued_at, hindcast) do nothing`.execute(trx);
}

/** What an outlook was made of; undefined when it was issued before inputs were kept. */
export async function readOutlookInputs(
  sql: Sql,
  node: NodeId,
  { issuedAtMs, hindcast }: { readonly issuedAtMs: number; readonly hindcast: boolean },
): Promise<OutlookInputs | undefined> {
  const [row] = await sql<InputRow[]>`
    select history_start, history, learnt_at, outside_id, facts from outlook_input
    where node_id = ${node} and issued_at = to_timestamp(${issuedAtMs}::float8 / 1000) and hindcast = ${hindcast}`;
  if (row === undefined) return undefined;
  const days = await sql<HistoryDay[]>`
    select digest, hours, "values" from history_day
    where node_id = ${node} and digest = any(${[...row.history]}::uuid[])`;
  const byDigest = new Map(days.map((day) => [day.digest, day]));
  return {
    history: historyOf(
      row.history_start,
      row.history.map((digest) => {
        const day = byDigest.get(digest);
        if (day === undefined) throw new Error(`The day ${digest} of node ${node} is not kept.`);
        return day;
      }),
    ),
    ...(row.learnt_at === null ? {} : { learntAtMs: row.learnt_at }),
    ...(row.outside_id === null ? {} : { outsideId: String(row.outside_id) }),
    facts: row.facts,
  };
}

interface InputRow {
  readonly history_start: number;
  readonly history: readonly string[];
  readonly learnt_at: number | null;
  readonly outside_id: number | null;
  readonly facts: OutlookFacts;
}

/** Cut at UTC midnights, so that a day that is over is the same day in every outlook that saw it whole. */
function daysOf(history: HourlyHistory): readonly HistoryDay[] {
  const count = history.panelW.length;
  const days: HistoryDay[] = [];
  for (let from = 0; from < count;) {
    const atMs = history.startMs + from * HOUR_MS;
    const nextMidnightMs = (Math.floor(atMs / DAY_MS) + 1) * DAY_MS;
    const to = Math.min(count, from + Math.round((nextMidnightMs - atMs) / HOUR_MS));
    const values = SERIES.flatMap((name) => history[name].slice(from, to));
    days.push({ digest: digestOf(values), hours: to - from, values });
    from = to;
  }
  return days;
}

/** 128 bits of SHA-256 over the numbers as JSON writes them, in the shape of a uuid. */
function digestOf(values: Values): string {
  const hex = createHash('sha256').update(JSON.stringify(values)).digest('hex');
  return [8, 12, 16, 20, 32].map((end, i) => hex.slice([0, 8, 12, 16, 20][i], end)).join('-');
}

function historyOf(startMs: number, days: readonly HistoryDay[]): HourlyHistory {
  const series = SERIES.map((_, place) =>
    days.flatMap(({ hours, values }) => values.slice(place * hours, (place + 1) * hours)),
  );
  const of = (name: (typeof SERIES)[number]): Values => series[SERIES.indexOf(name)] ?? [];
  return {
    startMs,
    panelW: of('panelW'),
    loadW: of('loadW'),
    chargeRatio: of('chargeRatio'),
    batteryV: of('batteryV'),
    batteryA: of('batteryA'),
    batteryC: of('batteryC'),
    airC: of('airC'),
  };
}
