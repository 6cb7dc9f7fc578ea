import type { NewExportJson } from '@duskline/contract';
import type { ExportFormat, ExportSite } from '@duskline/export';
import type { ExportJob } from '@duskline/store';

const formats: Readonly<
  Record<ExportFormat, { readonly ending: string; readonly mediaType: string }>
> = {
  zip: { ending: 'zip', mediaType: 'application/zip' },
  parquet: { ending: 'zip', mediaType: 'application/zip' },
  csv: { ending: 'csv', mediaType: 'text/csv; charset=utf-8; header=present' },
  ndjson: { ending: 'ndjson', mediaType: 'application/x-ndjson' },
};

export const formatOf = (format: ExportFormat) => formats[format];

type Named = Pick<ExportJob, 'id' | 'query' | 'version' | 'madeAtMs'>;
const day = (text: string): string => new Date(text).toISOString().slice(0, 10);

/** `duskline_site-or-fleet_from_to_vN`, without ending. */
export function fileStem({ query, version }: Named, sites: readonly ExportSite[]): string {
  const { from, to } = query as NewExportJson;
  const what = sites.length === 1 ? (sites[0]?.site.id ?? 'fleet') : 'fleet';
  return `duskline_${what}_${day(from)}_${day(to)}_v${version}`;
}

/** How to cite it, so that somebody else finds the same bytes. */
export function citationOf({ id, query, version, madeAtMs }: Named): string {
  const { from, to } = query as NewExportJson;
  return `Duskline fleet, readings from ${day(from)} to ${day(to)}, export ${id}, version ${version}, made ${new Date(madeAtMs).toISOString().slice(0, 10)}.`;
}
