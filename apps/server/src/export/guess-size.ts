import type { ExportEstimateJson } from '@duskline/contract';
import type { FieldNode } from '@duskline/domain';
import { aggregateSeconds, SPREADSHEET_ROWS, type ExportRequest } from '@duskline/export';

/** Bytes a line of the long form, as measured on packages of the pretend fleet: for an estimate only. */
const LINE_BYTES = { csv: 135, ndjson: 340, zip: 13, parquet: 6 } as const;

/** Rows and bytes of an export, about. */
export function guessSize(
  request: ExportRequest,
  { readings, nodes }: { readonly readings: number; readonly nodes: readonly FieldNode[] },
): Omit<ExportEstimateJson, 'sites'> {
  const rows = Math.round(
    request.aggregate === undefined ? readings : intervals(request, readings, nodes),
  );
  const wide = request.wide && request.format === 'zip' ? 1.5 : 1;
  return {
    rows,
    bytes: Math.round(20_000 + rows * LINE_BYTES[request.format] * wide),
    fitsSpreadsheet: rows < SPREADSHEET_ROWS,
  };
}

/** Readings shrink by how many there are in an interval, but an interval never has less than one. */
function intervals(
  { aggregate }: ExportRequest,
  readings: number,
  nodes: readonly FieldNode[],
): number {
  if (aggregate === undefined || nodes.length === 0) return readings;
  const gapS = nodes.reduce((sum, { power }) => sum + power.usualGapS, 0) / nodes.length;
  const values = aggregate.extremes ? 3 : 1;
  return (readings * values) / Math.max(1, aggregateSeconds[aggregate.length] / gapS);
}
