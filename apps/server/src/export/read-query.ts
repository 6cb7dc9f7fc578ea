import type { ExportReader, ExportRefusal } from '@duskline/api';
import type { NewExportJson } from '@duskline/contract';
import {
  failed,
  ok,
  type FieldNode,
  type Result,
  type Site,
  type SiteView,
} from '@duskline/domain';
import type { ExportRequest } from '@duskline/export';

export interface ReadQuery {
  readonly request: ExportRequest;
  /** By id. */
  readonly sites: readonly { readonly site: Site; readonly node?: FieldNode }[];
}

const LONGEST_MS = 100 * 366 * 86_400_000;

/** What was asked for with every choice made, of sites the reader may see. */
export function readQuery(
  query: NewExportJson,
  views: readonly SiteView[],
  reader: ExportReader,
): Result<ReadQuery, ExportRefusal> {
  const [fromMs, toMs] = [Date.parse(query.from), Date.parse(query.to)];
  if (!(fromMs < toMs) || toMs - fromMs > LONGEST_MS)
    return failed({ code: 'range-invalid', detail: '`from` must be before `to`.' });
  if (query.positions === 'exact' && !reader.exactPositions)
    return failed({
      code: 'not-allowed',
      detail:
        'Exact positions need the permission “change-nodes”: ask for blurred ones, or have a builder make the export.',
    });
  const only = reader.account.onlySites;
  const seen = views.filter(({ site }) => only?.includes(site.id) ?? true);
  const unknown = query.sites?.find((id) => !seen.some(({ site }) => site.id === id));
  if (unknown !== undefined)
    return failed({
      code: 'site-unknown',
      detail: `There is no site “${unknown}”. GET /api/v1/sites lists those there are.`,
    });
  const asked = seen.filter(({ site }) => query.sites?.includes(site.id) ?? true);
  return ok({
    request: requestOf(query, { fromMs, toMs }),
    sites: asked
      .map(({ site, node }) => (node === undefined ? { site } : { site, node }))
      .sort((a, b) => (a.site.id < b.site.id ? -1 : 1)),
  });
}

function requestOf(
  query: NewExportJson,
  range: { readonly fromMs: number; readonly toMs: number },
): ExportRequest {
  const { aggregate } = query;
  return {
    ...range,
    format: query.format ?? 'zip',
    ...(query.metrics === undefined ? {} : { metrics: query.metrics }),
    ...(aggregate === undefined
      ? {}
      : {
          aggregate: {
            length: aggregate,
            day: query.day ?? 'civil',
            extremes: query.extremes ?? false,
          },
        }),
    flags: (query.flags ??
      (aggregate === undefined ? [1, 2, 3, 4] : [1, 2])) as ExportRequest['flags'],
    wide: query.wide ?? false,
    localTime: query.localTime ?? false,
    spreadsheet: query.spreadsheet ?? false,
    positions: query.positions ?? 'blurred',
    forecasts: query.forecasts ?? false,
    names: query.names ?? false,
    ...(query.licence === undefined ? {} : { licence: query.licence }),
    ...(query.contact === undefined ? {} : { contact: query.contact }),
  };
}
