import { DOUBTFUL, HOUR_MS, timeQualities, type MetricKey, type NodeId } from '@duskline/domain';
import { sql, type Kysely } from 'kysely';
import { arrayLiteral } from './array-literal.ts';
import { epochMs, instant } from './database/epoch-ms.ts';
import type { Database } from './database/open-database.ts';
import type { Layouts } from './layouts.ts';
import type { CheckedSample, QualityCheck, StoredSample } from './quality-check.ts';
import type { Tables } from './schema.ts';
import type { StaleHour } from './stale-hour.ts';

/** Any number: it keeps these advisory locks apart from those of others. */
const FLAG_LOCK = 7_317;

type Trx = Kysely<Tables>;

interface Span {
  readonly fromMs: number;
  readonly toMs: number;
}

/**
 * Tests the readings of the hours that changed, and those around them on which the change may bear, and keeps the flags
 * that are not the default.
 *
 * Looks at the same node come one after the other, so that flags made of earlier news never overwrite later ones; news that
 * come meanwhile renew their marks and are seen by the next look. An hour outside the marks whose flags change is marked too;
 * one that was marked meanwhile keeps its mark, as what came in it was not looked at.
 * Marks are locked before samples, as the intake never waits for both.
 *
 * @param of.limitsVersion of the pulse before `check` was made
 * @returns the hours to roll up again: those marked, and those whose flags changed; or that limits were set which `check` does
 *          not know, so that nothing was tested
 */
export function checkStaleHours(
  database: Database<Tables>,
  layouts: Layouts,
  {
    node,
    check,
    limitsVersion,
    limit,
  }: {
    readonly node: NodeId;
    readonly check: QualityCheck;
    readonly limitsVersion: number;
    readonly limit: number;
  },
): Promise<readonly StaleHour[] | 'limits-changed'> {
  return database.transaction(async (trx) => {
    await sql`select pg_advisory_xact_lock(${FLAG_LOCK}::integer, ${node}::integer)`.execute(trx);
    const { rows: stale } = await sql<StaleHour & { readonly limitsVersion: number }>`
      select ${epochMs(sql.ref('hour_start'))} as "startMs", news_version as "newsVersion",
        (select limits_version from node_pulse where node_id = ${node}) as "limitsVersion"
      from stale_hour
      where node_id = ${node}
      order by hour_start
      limit ${limit}`.execute(trx);
    if (stale.some((hour) => hour.limitsVersion !== limitsVersion)) return 'limits-changed';
    const changed: CheckedSample[] = [];
    for (const span of spansOf(stale, check))
      changed.push(...(await findChanges(trx, layouts, { node, check, span })));
    if (changed.length === 0) return stale;
    const further = await markFurther(trx, node, { stale, changed });
    await keepFlags(trx, node, changed);
    return [...stale, ...further].sort((a, b) => a.startMs - b.startMs);
  });
}

/** The time on whose flags the marked hours may bear, in stretches that do not touch. */
function spansOf(stale: readonly StaleHour[], { reachMs, gapMs }: QualityCheck): readonly Span[] {
  const spans: Span[] = [];
  for (const { startMs } of stale) {
    const span = {
      fromMs: startMs - gapMs,
      toMs: startMs + HOUR_MS + Math.max(reachMs, gapMs),
    };
    const last = spans.at(-1);
    if (last !== undefined && span.fromMs <= last.toMs)
      spans[spans.length - 1] = { fromMs: last.fromMs, toMs: Math.max(last.toMs, span.toMs) };
    else spans.push(span);
  }
  return spans;
}

interface SampleRow {
  readonly at_ms: number;
  readonly received_ms: number;
  readonly layout_id: number;
  readonly metric_ids: readonly number[];
  readonly values: readonly number[];
  readonly time_quality: number | null;
  readonly flags: readonly number[] | null;
  readonly tests: readonly number[] | null;
}

/** Samples of the span whose flags or failed tests are not those that are kept. */
async function findChanges(
  trx: Trx,
  layouts: Layouts,
  {
    node,
    check,
    span,
  }: { readonly node: NodeId; readonly check: QualityCheck; readonly span: Span },
): Promise<readonly CheckedSample[]> {
  const { rows } = await sql<SampleRow>`
    select ${epochMs(sql.ref('sample.observed_at'))} as at_ms, ${epochMs(sql.ref('received_at'))} as received_ms,
      sample.layout_id, layout.metric_ids, sample.values, time_quality, flags, note.tests
    from sample
    join layout on layout.id = sample.layout_id
    left join sample_note note on note.node_id = sample.node_id and note.observed_at = sample.observed_at
      and note.layout_id = sample.layout_id
      and note.observed_at >= ${instant(span.fromMs)} and note.observed_at < ${instant(span.toMs)}
    where sample.node_id = ${node} and sample.layout_id = any(array(select id from layout))
      and sample.observed_at >= ${instant(span.fromMs - Math.max(check.reachMs, check.gapMs))}
      and sample.observed_at < ${instant(span.toMs + check.gapMs)}
    order by sample.observed_at, sample.layout_id`.execute(trx);
  const metricsOf = new Map<number, readonly MetricKey[]>();
  for (const { layout_id, metric_ids } of rows)
    if (!metricsOf.has(layout_id)) metricsOf.set(layout_id, await keysOf(layouts, metric_ids));
  const samples = rows.map((row): StoredSample => ({
    observedAtMs: row.at_ms,
    receivedAtMs: row.received_ms,
    layoutId: row.layout_id,
    metrics: metricsOf.get(row.layout_id) ?? [],
    values: row.values,
    timeQuality: timeQualities[row.time_quality ?? 0] ?? 'synced',
  }));
  return check.check(samples, span).filter((checked, i) => {
    const row = rows[i];
    if (row === undefined || row.at_ms < span.fromMs || row.at_ms >= span.toMs) return false;
    return !isSame(row.flags, flagsToKeep(checked)) || !isSame(row.tests, testsToKeep(checked));
  });
}

/** A metric that this program's catalogue lacks keeps its place under a name nothing is known of. */
async function keysOf(layouts: Layouts, ids: readonly number[]): Promise<readonly MetricKey[]> {
  const keys: MetricKey[] = [];
  for (const id of ids) keys.push((await layouts.metricKey(id)) ?? ('' as MetricKey));
  return keys;
}

const isDoubtful = ({ flags }: CheckedSample): boolean => flags.some((flag) => flag >= DOUBTFUL);
const flagsToKeep = (checked: CheckedSample): readonly number[] | null =>
  isDoubtful(checked) ? checked.flags : null;
const testsToKeep = (checked: CheckedSample): readonly number[] | null =>
  isDoubtful(checked) ? checked.tests : null;

function isSame(a: readonly number[] | null, b: readonly number[] | null): boolean {
  if (a === null || b === null) return a === b;
  return a.length === b.length && a.every((value, i) => value === b[i]);
}

const hourOf = (atMs: number): number => Math.floor(atMs / HOUR_MS) * HOUR_MS;

/**
 * Hours whose flags changed though nothing came in them. Their news is that of the node: no rollup was made of later. Those
 * that somebody marked meanwhile are not among them.
 */
async function markFurther(
  trx: Trx,
  node: NodeId,
  {
    stale,
    changed,
  }: { readonly stale: readonly StaleHour[]; readonly changed: readonly CheckedSample[] },
): Promise<readonly StaleHour[]> {
  const marked = new Set(stale.map(({ startMs }) => startMs));
  const further = [...new Set(changed.map(({ sample }) => hourOf(sample.observedAtMs)))]
    .filter((startMs) => !marked.has(startMs))
    .sort((a, b) => a - b);
  if (further.length === 0) return [];
  const { rows } = await sql<StaleHour>`
    insert into stale_hour (node_id, hour_start, news_version)
    select pulse.node_id, to_timestamp(start_ms / 1000), pulse.news_version
    from node_pulse pulse
    cross join unnest(${arrayLiteral(further)}::float8[]) hour (start_ms)
    where pulse.node_id = ${node}
    order by start_ms
    on conflict (node_id, hour_start) do nothing
    returning ${epochMs(sql.ref('stale_hour.hour_start'))} as "startMs", news_version as "newsVersion"`.execute(
    trx,
  );
  return rows;
}

async function keepFlags(trx: Trx, node: NodeId, changed: readonly CheckedSample[]): Promise<void> {
  const times = changed.map(({ sample }) => sample.observedAtMs);
  const literals = (of: (checked: CheckedSample) => readonly number[] | null): (string | null)[] =>
    changed.map((checked) => {
      const values = of(checked);
      return values === null ? null : arrayLiteral(values);
    });
  const given = sql`unnest(
      ${arrayLiteral(times)}::float8[], ${arrayLiteral(changed.map(({ sample }) => sample.layoutId))}::integer[],
      ${literals(flagsToKeep)}::text[], ${literals(testsToKeep)}::text[]
    ) given (at_ms, layout_id, flags, tests)`;
  const within = (column: string) =>
    sql`${sql.ref(column)} between ${instant(Math.min(...times))} and ${instant(Math.max(...times))}`;
  await sql`
    update sample set flags = given.flags::smallint[]
    from ${given}
    where sample.node_id = ${node} and ${within('sample.observed_at')}
      and sample.observed_at = to_timestamp(given.at_ms / 1000) and sample.layout_id = given.layout_id`.execute(
    trx,
  );
  await sql`
    insert into sample_note (node_id, observed_at, layout_id, tests)
    select ${node}::integer, to_timestamp(given.at_ms / 1000), given.layout_id, given.tests::integer[]
    from ${given}
    on conflict (node_id, observed_at, layout_id) do update set tests = excluded.tests`.execute(
    trx,
  );
  await sql`
    delete from sample_note
    where node_id = ${node} and ${within('observed_at')} and said_s is null and tests is null`.execute(
    trx,
  );
}
