import type { AvailabilityJson } from '@duskline/contract';
import {
  darkSeason,
  field,
  gapWarning,
  instantText,
  joinSeasons,
  splitTime,
  tableCsv,
  type DarkSeason,
  type ExportSite,
  type GapCause,
  type Stretch,
} from '@duskline/export';
import type { AcceptedGap } from '@duskline/domain';
import type { Store } from '@duskline/store';

const HOUR_MS = 3_600_000;
type SiteJson = AvailabilityJson['sites'][number];

/**
 * Where the time of the sites went. What lies in the future of `nowMs` is not counted, nor what lies before a node was put up or
 * first told anything: a site that began in autumn was not down all summer. The share of the fleet weighs every site by its hours;
 * hours before the first message and after retirement are not in it.
 */
export async function availabilityOf(
  store: Pick<Store, 'intervals' | 'acceptedGaps' | 'diagnoses'>,
  sites: readonly ExportSite[],
  range: { readonly fromMs: number; readonly toMs: number; readonly nowMs: number },
): Promise<AvailabilityJson> {
  const fromMs = range.fromMs;
  const toMs = Math.max(fromMs, Math.min(range.toMs, range.nowMs));
  const rows: SiteJson[] = [];
  const seasons: DarkSeason[] = [];
  const fleet = { upMs: 0, countedMs: 0, sites: 0, neverHeard: 0 };
  for (const { site, node } of sites) {
    const intervals = node === undefined ? [] : await store.intervals.list(node.id, fromMs, toMs);
    const beganMs = Math.min(node?.commissionedAtMs ?? fromMs, intervals[0]?.fromMs ?? Infinity);
    const sinceMs = Math.min(toMs, Math.max(fromMs, beganMs));
    const accepted = await store.acceptedGaps.between(site.id, sinceMs, toMs);
    const stretches =
      node === undefined
        ? []
        : splitTime({ fromMs: sinceMs, toMs }, intervals, {
            accepted,
            silence: (await store.diagnoses.of(node.id)).silence,
          });
    const season = darkSeason(stretches, site.position.latitudeDeg);
    if (season !== undefined) seasons.push(season);
    if (node !== undefined) {
      const counted = stretches.filter(({ gap }) => !isUnproved(gap?.state));
      // Put up, but not one message yet: there is nobody to be up or down.
      const isHeard = intervals.some(({ state }) => !isUnproved(state));
      fleet[isHeard ? 'sites' : 'neverHeard'] += 1;
      if (isHeard) {
        fleet.upMs += lengthOf(counted.filter(({ gap }) => gap === undefined));
        fleet.countedMs += lengthOf(counted);
      }
    }
    const share = (cause: GapCause | undefined): SiteJson['up'] => {
      const ms = lengthOf(stretches.filter(({ gap }) => gap?.cause === cause));
      return { hours: ms / HOUR_MS, ratio: toMs > sinceMs ? ms / (toMs - sinceMs) : 0 };
    };
    rows.push({
      id: site.id,
      name: site.name,
      node: node?.name ?? null,
      timeZone: site.timeZone,
      since: instantText(sinceMs),
      up: share(undefined),
      darkAsDesigned: share('dark as designed'),
      fault: share('fault'),
      link: share('link'),
      clock: share('clock'),
      work: share('off for work'),
      unknown: share('unknown'),
      accepted: accepted.map((one) => acceptedJson(one, stretches)),
    });
  }
  return {
    from: instantText(fromMs),
    to: instantText(toMs),
    warning: gapWarning(joinSeasons(seasons)),
    fleet: {
      up: {
        hours: fleet.upMs / HOUR_MS,
        ratio: fleet.countedMs > 0 ? fleet.upMs / fleet.countedMs : 0,
      },
      sites: fleet.sites,
      neverHeard: fleet.neverHeard,
    },
    sites: rows,
  };
}

const isUnproved = (state: string | undefined): boolean =>
  state === 'not-yet-proved' || state === 'retired';

const lengthOf = (stretches: readonly Stretch[]): number =>
  stretches.reduce((sum, { fromMs, toMs }) => sum + toMs - fromMs, 0);

function acceptedJson(
  one: AcceptedGap,
  stretches: readonly Stretch[],
): SiteJson['accepted'][number] {
  const toMs = Math.min(one.untilMs, one.endedAtMs ?? one.untilMs);
  const ms = stretches.reduce(
    (sum, stretch) =>
      stretch.gap === undefined
        ? sum
        : sum + Math.max(0, Math.min(stretch.toMs, toMs) - Math.max(stretch.fromMs, one.fromMs)),
    0,
  );
  return {
    from: instantText(one.fromMs),
    to: instantText(toMs),
    by: one.by,
    reason: one.reason,
    hours: ms / HOUR_MS,
  };
}

const parts = ['up', 'darkAsDesigned', 'fault', 'link', 'clock', 'work', 'unknown'] as const;
const columnOf = {
  up: 'up',
  darkAsDesigned: 'dark_as_designed',
  fault: 'fault',
  link: 'link',
  clock: 'clock',
  work: 'off_for_work',
  unknown: 'unknown',
} as const;

/** One row a site; the hours add up to its whole time there within the period. */
export function availabilityCsv(report: AvailabilityJson): string {
  const text = { text: true } as const;
  return tableCsv({
    fields: [
      field('site_id', 'string', 'Site', text),
      field('name', 'string', 'Name', text),
      field('node_id', 'string', 'Node', text),
      field('from', 'datetime', 'From'),
      field('to', 'datetime', 'Until before'),
      ...parts.flatMap((part) => [
        field(`${columnOf[part]}_h`, 'number', part, { unit: 'h' }),
        field(`${columnOf[part]}_percent`, 'number', part, { unit: '%' }),
      ]),
      field('accepted_gaps', 'string', 'Accepted beforehand, by whom and why', text),
    ],
    rows: report.sites
      .filter(({ node }) => node !== null)
      .map((site) => [
        site.id,
        site.name,
        site.node,
        site.since,
        report.to,
        ...parts.flatMap((part) => [
          Number(site[part].hours.toFixed(3)),
          Number((site[part].ratio * 100).toFixed(3)),
        ]),
        site.accepted
          .map(
            ({ from, to, by, reason, hours }) =>
              `${from} to ${to} (${hours.toFixed(1)} h dark), ${by}: ${reason}`,
          )
          .join('; '),
      ]),
  });
}
