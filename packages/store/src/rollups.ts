import { HOUR_MS, type HourlyHistory, type MetricKey, type Rollup } from '@duskline/domain';
import { arrayLiteral } from './array-literal.ts';
import type { Database } from './database/open-database.ts';
import type { Layouts } from './layouts.ts';
import { refreshRollups } from './rollup-refresh.ts';
import type { Tables } from './schema.ts';
import type { RollupStore } from './rollup-store.ts';

export function createRollupStore(database: Database<Tables>, layouts: Layouts): RollupStore {
  const { sql } = database;
  return {
    refresh: (node, prepare) =>
      refreshRollups(database, layouts, { node, ...(prepare === undefined ? {} : { prepare }) }),
    async series(node, metric, { fromMs, toMs, grain, quality = [PASS] }) {
      const metricId = await layouts.metricId(metric);
      if (metricId === undefined) return [];
      const start = sql(`${grain}_start`);
      const rows = await sql<RollupRow[]>`
        select ${start} as "startMs", sum(count) as count, sum(sum order by quality) as sum, min(min), max(max),
          (array_agg(last order by last_at desc, last desc))[1] as last,
          sum(east order by quality) as east, sum(north order by quality) as north
        from ${sql(`rollup_${grain}`)}
        where node_id = ${node} and metric_id = ${metricId} and quality = any(${arrayLiteral(quality)}::smallint[])
          and ${start} >= to_timestamp(${fromMs}::float8 / 1000)
          and ${start} < to_timestamp(${toMs}::float8 / 1000)
        group by ${start}
        order by ${start}`;
      return rows.map(({ east, north, ...row }) => ({
        metric,
        ...row,
        ...(east === null || north === null ? {} : { vector: { east, north } }),
      }));
    },
    async counts(node, metric, { fromMs, toMs, grain }) {
      const metricId = await layouts.metricId(metric);
      if (metricId === undefined) return { pass: 0, suspect: 0, fail: 0 };
      const start = sql(`${grain}_start`);
      const [row] = await sql<{ pass: number; suspect: number; fail: number }[]>`
        select coalesce(sum(count) filter (where quality = 1), 0) as pass,
          coalesce(sum(count) filter (where quality = 3), 0) as suspect,
          coalesce(sum(count) filter (where quality = 4), 0) as fail
        from ${sql(`rollup_${grain}`)}
        where node_id = ${node} and metric_id = ${metricId}
          and ${start} >= to_timestamp(${fromMs}::float8 / 1000)
          and ${start} < to_timestamp(${toMs}::float8 / 1000)`;
      return row ?? { pass: 0, suspect: 0, fail: 0 };
    },
    async hourly(node, fromMs, toMs) {
      const startMs = Math.floor(fromMs / HOUR_MS) * HOUR_MS;
      const hours = Math.max(0, Math.ceil((toMs - startMs) / HOUR_MS));
      const rows = await sql<HourlyMeans[]>`
        select metric.key,
          json_agg(((extract(epoch from rollup.hour_start) * 1000 - ${startMs}) / ${HOUR_MS})::integer) as places,
          json_agg(rollup.sum / rollup.count) as means
        from metric
        join rollup_hour rollup on rollup.node_id = ${node} and rollup.metric_id = metric.id
        where metric.key = any(${[...HISTORY_METRICS]}::text[]) and rollup.quality = ${PASS}
          and rollup.hour_start >= to_timestamp(${startMs}::float8 / 1000)
          and rollup.hour_start < to_timestamp(${startMs + hours * HOUR_MS}::float8 / 1000)
        group by metric.key
        union all
        select ${ESTIMATED},
          json_agg(((extract(epoch from hour_start) * 1000 - ${startMs}) / ${HOUR_MS})::integer),
          json_agg(ratio)
        from charge_hour
        where node_id = ${node}
          and hour_start >= to_timestamp(${startMs}::float8 / 1000)
          and hour_start < to_timestamp(${startMs + hours * HOUR_MS}::float8 / 1000)
        having count(*) > 0`;
      return historyOf(startMs, hours, rows);
    },
  };
}

interface RollupRow extends Omit<Rollup, 'metric' | 'vector'> {
  readonly east: number | null;
  readonly north: number | null;
}

/** QARTOD: 1 = pass. */
const PASS = 1;

const HISTORY_METRICS = [
  'panel_w',
  'panel_v',
  'panel_i',
  'load_w',
  'load_v',
  'load_i',
  'charge',
  'batt_v',
  'batt_i',
  'batt_temp',
  'air_temp',
] as const satisfies readonly MetricKey[];

const ESTIMATED = 'charge estimated';

interface HourlyMeans {
  readonly key: (typeof HISTORY_METRICS)[number] | typeof ESTIMATED;
  /** Hours since the start. */
  readonly places: readonly number[];
  readonly means: readonly number[];
}

type Series = readonly (number | null)[];

function historyOf(startMs: number, hours: number, rows: readonly HourlyMeans[]): HourlyHistory {
  const known = new Map<string, Series>(
    rows.map(({ key, places, means }) => {
      const series = new Array<number | null>(hours).fill(null);
      places.forEach((place, index) => (series[place] = means[index] ?? null));
      return [key, series];
    }),
  );
  const none: Series = new Array<number | null>(hours).fill(null);
  const of = (key: HourlyMeans['key']): Series => known.get(key) ?? none;
  return {
    startMs,
    panelW: firstOf(of('panel_w'), productOf(of('panel_v'), of('panel_i'))),
    loadW: firstOf(of('load_w'), productOf(of('load_v'), of('load_i'))),
    chargeRatio: firstOf(
      of('charge').map((percent) => (percent === null ? null : percent / 100)),
      of(ESTIMATED),
    ),
    batteryV: of('batt_v'),
    batteryA: of('batt_i'),
    batteryC: of('batt_temp'),
    airC: of('air_temp'),
  };
}

const firstOf = (series: Series, otherwise: Series): Series =>
  series.map((value, hour) => value ?? otherwise[hour] ?? null);

/** Mean power from mean voltage and mean current: what is lost between the two is small within an hour. */
const productOf = (voltages: Series, currents: Series): Series =>
  voltages.map((voltage, hour) => {
    const current = currents[hour] ?? null;
    return voltage === null || current === null ? null : voltage * current;
  });
