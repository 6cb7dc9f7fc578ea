import {
  qualityFlags,
  timeQualities,
  type MetricKey,
  type NodeId,
  type QualityFlag,
  type QualityTest,
  type TimeQuality,
  testsOfMask,
} from '@duskline/domain';
import type { Sql } from 'postgres';
import { arrayLiteral } from './array-literal.ts';
import type { Layouts } from './layouts.ts';

/** A reading with everything that is known of it. */
export interface CheckedReading {
  readonly atMs: number;
  readonly receivedAtMs: number;
  /** As the node said it, where that was another time: SenML seconds, below 2^28 counted from receipt. */
  readonly saidTimeS?: number;
  readonly value: number;
  /** 2: its hour has news that have not been tested yet. */
  readonly flag: QualityFlag;
  readonly timeQuality: TimeQuality;
  /** The tests that found fault with it. */
  readonly tests: readonly QualityTest[];
}

export interface ReadingFilter {
  readonly flags: readonly QualityFlag[];
  /** Readings whose time cannot be trusted are off the axis: only these, or none of them. */
  readonly unsureTimes: boolean;
}

export interface ReadingStore {
  /** The first `limit` readings of [fromMs, toMs), oldest first unless the newest are wanted first. */
  list(
    nodeId: NodeId,
    metric: MetricKey,
    range: {
      readonly fromMs: number;
      readonly toMs: number;
      readonly limit: number;
      readonly newestFirst?: boolean;
    },
    filter: ReadingFilter,
  ): Promise<readonly CheckedReading[]>;
}

const UNSURE = timeQualities.indexOf('unsure');

export function createReadingStore(sql: Sql, layouts: Layouts): ReadingStore {
  return {
    async list(node, metric, { fromMs, toMs, limit, newestFirst = false }, { flags, unsureTimes }) {
      const metricId = await layouts.metricId(metric);
      if (metricId === undefined) return [];
      const rows = await sql<ReadingRow[]>`
        select reading.*
        from (
          select id, array_position(metric_ids, ${metricId}::smallint) as place from layout
          where metric_ids @> array[${metricId}::smallint]
        ) layout
        -- Layout by layout, as the key has them: the first of each are found without the rest.
        cross join lateral (
          select * from (
            select sample.observed_at as "atMs", sample.received_at as "receivedAtMs", note.said_s as "saidS",
              sample.values[place] as value, sample.time_quality as "timeQuality", note.tests[place] as mask,
              coalesce(sample.flags[place], case when exists (
                select from stale_hour
                where stale_hour.node_id = ${node} and stale_hour.hour_start = date_bin('1 hour', sample.observed_at, 'epoch')
              ) then ${qualityFlags['not-evaluated']}::smallint else ${qualityFlags.pass}::smallint end) as flag
            from sample
            left join sample_note note on note.node_id = sample.node_id and note.observed_at = sample.observed_at
              and note.layout_id = sample.layout_id
            where sample.node_id = ${node} and sample.layout_id = layout.id
              and sample.observed_at >= to_timestamp(${fromMs}::float8 / 1000)
              and sample.observed_at < to_timestamp(${toMs}::float8 / 1000)
              and coalesce(sample.time_quality = ${UNSURE}, false) = ${unsureTimes}
          ) of_layout
          where flag = any(${arrayLiteral(flags)}::smallint[])
          order by "atMs" ${newestFirst ? sql`desc` : sql``}, value
          limit ${limit}
        ) reading
        order by "atMs" ${newestFirst ? sql`desc` : sql``}, value
        limit ${limit}`;
      return rows.map(({ saidS, timeQuality, mask, ...row }) => ({
        ...row,
        ...(saidS === null ? {} : { saidTimeS: saidS }),
        timeQuality: timeQualities[timeQuality ?? 0] ?? 'synced',
        tests: testsOfMask(mask ?? 0),
      }));
    },
  };
}

interface ReadingRow {
  readonly atMs: number;
  readonly receivedAtMs: number;
  readonly saidS: number | null;
  readonly value: number;
  readonly timeQuality: number | null;
  readonly mask: number | null;
  readonly flag: QualityFlag;
}
