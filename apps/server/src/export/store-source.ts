import type { ExportRequest, ExportSite, ExportSource } from '@duskline/export';
import { limitsOverTime, qualityRules } from '@duskline/quality';
import type { Store } from '@duskline/store';

/**
 * Samples a page. Twelve metrics each make some 120 KB of text: what is larger Node keeps out of the young generation, where
 * it lies until the next whole collection; with 500 an export of ten millions took up to 80 MB more, by the bench.
 */
const PAGE_ROWS = 100;
const MOST_EVENTS = 100_000;
const MOST_OUTLOOKS = 1_000_000;

export type ExportReads = Pick<
  Store,
  | 'exportReads'
  | 'parts'
  | 'intervals'
  | 'acceptedGaps'
  | 'events'
  | 'alerts'
  | 'qualityLimits'
  | 'diagnoses'
  | 'people'
>;

/** The store as an export reads it: as it was when the export was asked for. */
export async function storeSource(
  store: ExportReads,
  sites: readonly ExportSite[],
  {
    request,
    madeAtMs,
    signal,
  }: {
    readonly request: ExportRequest;
    readonly madeAtMs: number;
    readonly signal: AbortSignal;
  },
): Promise<ExportSource> {
  const { fromMs, toMs } = request;
  const range = { fromMs, toMs, receivedByMs: madeAtMs };
  const alerts = await store.alerts.between(fromMs, toMs);
  const untilMs = Math.min(toMs, madeAtMs);
  return {
    sites,
    people: await store.people.list(),
    layouts: await store.exportReads.layouts(),
    counts: (node) => store.exportReads.counts(node, range),
    samples: (node) => store.exportReads.samples(node, range, { pageRows: PAGE_ROWS, signal }),
    parts: (site) => store.parts.list(site.id),
    // An interval that lasts reaches as far as the export knows, not into a future that is asked for.
    intervals: async (node) =>
      (await store.intervals.list(node, fromMs, toMs)).map((one) => ({
        ...one,
        ...(one.toMs === undefined && untilMs < toMs && one.fromMs < untilMs
          ? { toMs: untilMs }
          : {}),
      })),
    acceptedGaps: (site) => store.acceptedGaps.between(site.id, fromMs, toMs),
    events: async (site) =>
      [...(await store.events.list(site.id, { fromMs, toMs, limit: MOST_EVENTS }))].reverse(),
    alerts: (site) => Promise.resolve(alerts.filter(({ siteId }) => siteId === site.id)),
    rules: async (node) =>
      limitsOverTime(await store.qualityLimits.inForce(node)).eras.map((era) => ({
        fromMs: era.fromMs,
        toMs: era.toMs,
        rules: qualityRules(era.limits),
      })),
    outlooks: (node) => store.exportReads.outlooks([node], { fromMs, toMs, limit: MOST_OUTLOOKS }),
    silence: async (node) => (await store.diagnoses.of(node)).silence,
  };
}
