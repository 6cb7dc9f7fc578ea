import { metricOf, type MetricKey } from '@duskline/domain';
import type { Sql } from 'postgres';
import { arrayLiteral } from './array-literal.ts';

/** Knows the short numbers of metrics and layouts; asks the database only for what is new. */
export interface Layouts {
  /** Makes the layouts known, creating what is missing. Safe with several servers. */
  ensure(layouts: Iterable<readonly MetricKey[]>): Promise<void>;
  /** The number of a layout that was ensured before. */
  idOf(metrics: readonly MetricKey[]): number;
  /** The number of a metric, or undefined when no node has sent it yet. */
  metricId(metric: MetricKey): Promise<number | undefined>;
  /** The metric of a number, or undefined when this program's catalogue lacks it. */
  metricKey(id: number): Promise<MetricKey | undefined>;
}

/** Another server may take a number first; it then takes another turn, and each turn one of them wins. */
const TURNS = 50;

export function createLayouts(sql: Sql): Layouts {
  const layoutIds = new Map<string, number>();
  const idOfKey = new Map<string, number>();
  const keyOfId = new Map<number, MetricKey>();

  async function readMetrics(): Promise<void> {
    for (const { id, key } of await sql<
      { id: number; key: string }[]
    >`select id, key from metric`) {
      idOfKey.set(key, id);
      const known = metricOf(key);
      if (known !== undefined) keyOfId.set(id, known);
    }
  }

  async function ensureMetrics(keys: readonly MetricKey[]): Promise<void> {
    for (let turn = 0; turn < TURNS; turn += 1) {
      if (keys.every((key) => idOfKey.has(key))) return;
      await sql`
        insert into metric (id, key)
        select (select coalesce(max(id), 0) from metric) + row_number() over (order by wanted.key), wanted.key
        from unnest(${[...keys]}::text[]) wanted (key)
        where not exists (select from metric where metric.key = wanted.key)
        on conflict do nothing`;
      await readMetrics();
    }
    throw new Error(`The metrics ${keys.join(', ')} got no number.`);
  }

  async function ensureLayout(metrics: readonly MetricKey[]): Promise<void> {
    await ensureMetrics(metrics);
    const metricIds = arrayLiteral(metrics.map((key) => idOfKey.get(key) ?? null));
    for (let turn = 0; turn < TURNS; turn += 1) {
      const [found] = await sql<{ id: number }[]>`
        with made as (
          insert into layout (id, metric_ids)
          select (select coalesce(max(id), 0) + 1 from layout), ${metricIds}::smallint[]
          where not exists (select from layout where metric_ids = ${metricIds}::smallint[])
          on conflict do nothing
          returning id
        )
        select id from made
        union all
        select id from layout where metric_ids = ${metricIds}::smallint[]`;
      if (found !== undefined) {
        layoutIds.set(nameOf(metrics), found.id);
        return;
      }
    }
    throw new Error(`The layout ${nameOf(metrics)} got no number.`);
  }

  return {
    async ensure(layouts) {
      const wanted = new Map<string, readonly MetricKey[]>();
      for (const metrics of layouts) {
        const name = nameOf(metrics);
        if (!layoutIds.has(name)) wanted.set(name, metrics);
      }
      for (const metrics of wanted.values()) await ensureLayout(metrics);
    },
    idOf(metrics) {
      const id = layoutIds.get(nameOf(metrics));
      if (id === undefined) throw new Error(`The layout ${nameOf(metrics)} was not ensured.`);
      return id;
    },
    async metricId(metric) {
      if (!idOfKey.has(metric)) await readMetrics();
      return idOfKey.get(metric);
    },
    async metricKey(id) {
      if (!keyOfId.has(id)) await readMetrics();
      return keyOfId.get(id);
    },
  };
}

const nameOf = (metrics: readonly MetricKey[]): string => metrics.join(' ');
