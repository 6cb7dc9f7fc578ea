import type { AccountId, MetricKey, NodeId } from '@duskline/domain';

/**
 * A sample as an export writes it: numbers and times stay the text the database has, so that nothing is rounded and nothing
 * is parsed that is only passed on.
 */
export interface ExportSample {
  /** `2026-11-25 12:00:00.5+00`, always UTC. */
  readonly at: string;
  readonly received: string;
  readonly layoutId: number;
  /** Place in `timeQualities`; null: synced. */
  readonly timeQuality: number | null;
  /** `{12.81,0.3}`, by the metrics of the layout. */
  readonly values: string;
  /** `{1,3}`; null: every value passed, or its hour is not tested yet. */
  readonly flags: string | null;
  /** `{0,8}`: which tests found fault, as bits; null: none. */
  readonly tests: string | null;
  /** Its hour has news that have not been tested. */
  readonly stale: boolean;
  readonly card: boolean;
}

export interface ExportRange {
  readonly fromMs: number;
  readonly toMs: number;
  /** Samples received later are left out: the export is of one moment. */
  readonly receivedByMs: number;
}

export interface ExportedRange {
  readonly fromMs: number;
  readonly toMs: number;
  /** Quality flags that are asked for; 1 and 2 lie together in the rollups. */
  readonly flags: readonly number[];
  /** Length of the intervals; `civil`: days of the sites. Left out: an hour. */
  readonly intervalS?: number;
  readonly civil?: boolean;
}

export interface ExportedAmount {
  readonly metric: MetricKey;
  readonly readings: number;
  readonly intervals: number;
}

export interface ExportOutlook {
  readonly nodeId: NodeId;
  readonly issuedAtMs: number;
  readonly hindcast: boolean;
  readonly dark: boolean;
  readonly kind: string;
  readonly horizonDays: number;
  readonly p10Days: number | null;
  readonly p50Days: number | null;
  readonly p90Days: number | null;
  readonly darkWithin3Days: number | null;
  readonly darkWithin7Days: number | null;
  readonly darkWithin14Days: number | null;
  readonly model: string;
}

export type ExportState = 'running' | 'done' | 'failed' | 'stopped';

/** An export that was asked for. `query` is what was asked, as the contract writes it. */
export interface ExportJob {
  readonly id: number;
  readonly accountId: AccountId;
  readonly by: string;
  readonly holder: string;
  readonly state: ExportState;
  readonly query: unknown;
  readonly madeAtMs: number;
  readonly version: number;
  readonly finishedAtMs?: number;
  readonly expiresAtMs: number;
  readonly fileName: string;
  readonly rows?: number;
  readonly bytes?: number;
  readonly sha256?: string;
  readonly note?: string;
}

export interface ExportStore {
  /** Metrics by the number of the layout; undefined for one this program's catalogue lacks. */
  layouts(): Promise<ReadonlyMap<number, readonly (MetricKey | undefined)[]>>;
  /** How many samples of each layout the range has. */
  counts(
    nodeId: NodeId,
    range: ExportRange,
  ): Promise<readonly { readonly layoutId: number; readonly samples: number }[]>;
  /** Readings of each metric, and intervals with any of them, about: from the rollups, so that a year of a fleet is told at once. */
  estimate(
    nodeIds: readonly NodeId[],
    metrics: readonly MetricKey[] | undefined,
    range: ExportedRange,
  ): Promise<readonly ExportedAmount[]>;
  /**
   * The samples of one node, by time and layout, in pages. They come over a connection of their own: neither intake nor pages
   * ever wait for an export. Ending the loop, or the signal, frees the connection.
   */
  samples(
    nodeId: NodeId,
    range: ExportRange,
    options: { readonly pageRows: number; readonly signal: AbortSignal },
  ): AsyncIterable<readonly ExportSample[]>;
  /** At most `limit`, by node and time of issue. */
  outlooks(
    nodeIds: readonly NodeId[],
    range: { readonly fromMs: number; readonly toMs: number; readonly limit: number },
  ): Promise<readonly ExportOutlook[]>;
  readonly jobs: ExportJobStore;
}

export interface ExportJobStore {
  /** Its version is the next one of the same query: no two exports of it ever bear the same. */
  create(
    job: Pick<
      ExportJob,
      'accountId' | 'by' | 'holder' | 'query' | 'madeAtMs' | 'expiresAtMs' | 'fileName'
    >,
  ): Promise<ExportJob>;
  /** Its name has its version in it, which is known only now. */
  name(id: number, fileName: string): Promise<void>;
  find(id: number): Promise<ExportJob | undefined>;
  /** The latest first. */
  recent(limit: number): Promise<readonly ExportJob[]>;
  /** Ends a running one. @returns false when it was not running */
  finish(
    id: number,
    end: Pick<ExportJob, 'rows' | 'bytes' | 'sha256' | 'note'> & {
      readonly state: Exclude<ExportState, 'running'>;
      readonly atMs: number;
    },
  ): Promise<boolean>;
  /** What a stop of that server broke off has failed. */
  failRunning(holder: string, note: string, atMs: number): Promise<readonly number[]>;
  remove(id: number): Promise<boolean>;
  /** Those of that server whose time is over. */
  expired(holder: string, nowMs: number): Promise<readonly ExportJob[]>;
}
