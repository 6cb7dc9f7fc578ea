import type { MetricKey, QualityFlag } from '@duskline/domain';

export const exportFormats = ['zip', 'csv', 'parquet', 'ndjson'] as const;
export type ExportFormat = (typeof exportFormats)[number];

/** Lengths of intervals readings may be summed up over, in seconds; a day is the civil day of the site, or of UTC. */
export const aggregateSeconds = {
  '1min': 60,
  '5min': 300,
  '10min': 600,
  '15min': 900,
  '30min': 1800,
  '1h': 3600,
  '3h': 10_800,
  '6h': 21_600,
  '12h': 43_200,
  '1d': 86_400,
} as const;
export type AggregateLength = keyof typeof aggregateSeconds;

export const positionChoices = ['blurred', 'exact', 'left-out'] as const;
export type PositionChoice = (typeof positionChoices)[number];

/** What is asked for, with every choice made. */
export interface ExportRequest {
  readonly fromMs: number;
  readonly toMs: number;
  readonly format: ExportFormat;
  /** Undefined: every metric there is. */
  readonly metrics?: readonly MetricKey[];
  /** Undefined: readings as they are. */
  readonly aggregate?: {
    readonly length: AggregateLength;
    readonly day: 'civil' | 'utc';
    /** Smallest and largest beside the mean. */
    readonly extremes: boolean;
  };
  /** Readings with these flags only. */
  readonly flags: readonly QualityFlag[];
  /** `observations_wide.csv` as well. */
  readonly wide: boolean;
  /** A last column with the site's own time and its offset. */
  readonly localTime: boolean;
  /** No file has more rows than a spreadsheet takes. */
  readonly spreadsheet: boolean;
  readonly positions: PositionChoice;
  readonly forecasts: boolean;
  /** Names of people as they are; else their roles. */
  readonly names: boolean;
  readonly licence?: string;
  readonly contact?: string;
}

/** Rows a spreadsheet takes, its heading included: the limit of OOXML worksheets (2^20). */
export const SPREADSHEET_ROWS = 1_048_576;
