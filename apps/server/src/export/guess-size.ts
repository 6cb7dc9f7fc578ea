import type { ExportEstimateJson } from '@duskline/contract';
import { metric } from '@duskline/domain';
import { SPREADSHEET_ROWS, type ExportRequest } from '@duskline/export';
import type { ExportedAmount } from '@duskline/store';

/** Bytes a line of the long form, as measured on packages of the pretend fleet: for an estimate only. */
const LINE_BYTES = { csv: 135, ndjson: 340, zip: 13, parquet: 6 } as const;

/**
 * Rows and bytes of an export, about. Rows are those of the long table: one a reading, or one a metric and interval that has any
 * (three where smallest and largest are asked for beside a mean).
 */
export function guessSize(
  request: ExportRequest,
  amounts: readonly ExportedAmount[],
): Omit<ExportEstimateJson, 'sites'> {
  const { aggregate } = request;
  const rows = Math.round(
    amounts.reduce(
      (sum, one) =>
        sum +
        (aggregate === undefined
          ? one.readings
          : one.intervals * (aggregate.extremes && hasMean(one) ? 3 : 1)),
      0,
    ),
  );
  const wide = request.wide && request.format === 'zip' ? 1.5 : 1;
  return {
    rows,
    bytes: Math.round(20_000 + rows * LINE_BYTES[request.format] * wide),
    fitsSpreadsheet: rows < SPREADSHEET_ROWS,
  };
}

const hasMean = ({ metric: key }: ExportedAmount): boolean => metric(key).aggregate === 'mean';
