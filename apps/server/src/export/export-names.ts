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

/** So many sites are named one by one. */
const NAMED = 3;

/** What a row stands for: a reading, or an interval of this length. */
export function grainOf({ aggregate, day }: Pick<NewExportJson, 'aggregate' | 'day'>): string {
  if (aggregate === undefined) return 'raw';
  if (aggregate === '1d') return day === 'utc' ? 'utc-day' : 'day';
  return aggregate === '1h' ? 'hour' : aggregate;
}

/**
 * `duskline_what_from_to_grain_export-ID_vN`, without ending: "fleet" is the whole of it, else the sites or their number; metrics
 * stand behind the grain where not all were asked for. The number keeps apart what differs in anything else.
 */
export function fileStem({ id, query, version }: Named, sites: readonly ExportSite[]): string {
  const { from, to, sites: asked, metrics, ...more } = query as NewExportJson;
  const ids = sites.map(({ site }) => site.id);
  const what =
    ids.length === 1
      ? ids.join('')
      : asked === undefined
        ? 'fleet'
        : ids.length <= NAMED
          ? ids.join('+')
          : `${ids.length}-sites`;
  const which =
    metrics === undefined
      ? ''
      : `_${metrics.length <= NAMED ? [...metrics].sort().join('+') : `${metrics.length}-metrics`}`;
  return `duskline_${what}_${day(from)}_${day(to)}_${grainOf(more)}${which}_export-${id}_v${version}`;
}

/** How to cite it, so that somebody else finds the same bytes. */
export function citationOf({ id, query, version, madeAtMs }: Named): string {
  const { from, to, sites, metrics, ...more } = query as NewExportJson;
  const rows = more.aggregate === undefined ? 'readings' : `values by ${grainOf(more)}`;
  const of = metrics === undefined ? '' : ` of ${[...metrics].sort().join(', ')}`;
  const what =
    sites === undefined
      ? 'fleet'
      : sites.length <= NAMED
        ? [...sites].sort().join(', ')
        : `${sites.length} sites`;
  return `Duskline ${what}, ${rows}${of} from ${day(from)} to ${day(to)}, export ${id}, version ${version}, made ${new Date(madeAtMs).toISOString().slice(0, 10)}.`;
}
