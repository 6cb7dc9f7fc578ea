import {
  dataDaysSaved,
  EVERY_VISIT,
  isToActOn,
  siteNeed,
  suggestRounds,
  tripHours,
  USUAL_TRAVEL,
  visitPurpose,
  type Place,
  type RoundStop,
  type SiteNeed,
  type SuggestedRound,
  type Travel,
} from '@duskline/alerts';
import { withoutPlace, type RoundsPort } from '@duskline/api';
import type { RoundsJson } from '@duskline/contract';
import {
  awaitedVisits,
  byCause,
  DARK_MARGIN_MS,
  DAY_MS,
  HOUR_MS,
  MINUTE_MS,
  needsSomeone,
  type SiteId,
} from '@duskline/domain';
import type { KeptVisit, Store } from '@duskline/store';
import { daylightFrom, lastDaylightBefore } from './daylight.ts';
import { fieldSheet, needJson, workAt } from './field-sheet.ts';
import { siteFacts, type SiteInNeed } from './round-facts.ts';

/** Beyond the days whose chances an outlook states, nobody is sent. */
const PLANNED_AHEAD_MS = 14 * DAY_MS;

/** So far ahead a visit is warned of that would set out in the dark. */
const DAYS_OF_DAYLIGHT = 4;

/** Where the sun hardly rises a round is no shorter than this: one site with a little of the way. */
const SHORTEST_ROUND_HOURS = 1.5;

type SiteRow = RoundsJson['sites'][number];

const instant = (atMs: number): string => new Date(atMs).toISOString();

/** What the pages Rounds and Visit work with. */
export function createRoundDesk(store: Store, now: () => number): RoundsPort {
  return {
    visits: store.visits,
    calendarFeeds: store.calendarFeeds,
    async sheet(siteId) {
      const [site] = await siteFacts(store, now(), siteId);
      return site && fieldSheet(site);
    },
    async rounds(from, { sees, seesPlaces }) {
      const nowMs = now();
      const [all, planned, lastDone] = await Promise.all([
        siteFacts(store, nowMs),
        openVisits(store, nowMs),
        store.visits.lastDone(),
      ]);
      const seen = all
        .filter(({ view }) => sees(view.site.id) && view.node?.retiredAtMs === undefined)
        .map((one) => (seesPlaces ? one : blurredSite(one)));
      const usual: Travel = { ...USUAL_TRAVEL, ...(from === undefined ? {} : { home: from }) };
      const sites = seen.map((site) => ({
        site,
        row: rowOf(site, { travel: usual, awaited: planned.get(site.view.site.id), lastDone }),
      }));
      const stops = stopsOf(sites, nowMs);
      const travel = { ...usual, mostHours: Math.min(usual.mostHours, hoursOfLight(stops)) };
      return {
        madeAt: instant(nowMs),
        travel: travelJson(travel),
        sites: sites.map(({ row }) => row).sort(byUrgency),
        suggested: suggestRounds(stops, travel).map(roundJson),
      };
    },
  };
}

/** The shortest day of these sites, less what is kept in hand before dark: a round that is longer is no round for one day. */
function hoursOfLight(stops: readonly Stop[]): number {
  const lengths = stops.flatMap(({ row }) =>
    row.daylight.slice(0, 1).map(({ from, until }) => Date.parse(until) - Date.parse(from)),
  );
  return Math.max(SHORTEST_ROUND_HOURS, (Math.min(...lengths) - DARK_MARGIN_MS) / HOUR_MS);
}

const blurredSite = ({ view, facts }: SiteInNeed): SiteInNeed => {
  const blurred = withoutPlace(view);
  return { view: blurred, facts: { ...facts, site: blurred.site } };
};

type Awaited = ReturnType<typeof awaitedVisits<KeptVisit>>;

/** Whom each site expects, and whom it expected. */
async function openVisits(store: Store, nowMs: number): Promise<Awaited> {
  const visits = await store.visits.list({
    fromMs: nowMs - 7 * DAY_MS,
    toMs: nowMs + 90 * DAY_MS,
    states: ['planned', 'under-way'],
  });
  return awaitedVisits(visits, (visit) => visit, nowMs);
}

function rowOf(
  { view, facts }: SiteInNeed,
  about: {
    readonly travel: Travel;
    readonly awaited: ReturnType<Awaited['get']>;
    readonly lastDone: ReadonlyMap<SiteId, number>;
  },
): SiteRow {
  const { site, verdict } = view;
  const need = siteNeed(facts);
  const savedDays = dataDaysSaved(facts, facts.nowMs);
  const hours = tripHours([site.position], about.travel);
  const daylight =
    need.kind === 'by' ? lastDaylightBefore(site.position, facts.nowMs, need.atMs) : undefined;
  const { next: planned, untold = [] } = about.awaited ?? {};
  const lastVisitMs = about.lastDone.get(site.id);
  return {
    siteId: site.id,
    siteName: site.name,
    timeZone: site.timeZone,
    latitudeDeg: site.position.latitudeDeg,
    longitudeDeg: site.position.longitudeDeg,
    state: verdict?.state ?? null,
    needsSomeone: needsSomeone({
      state: verdict?.state ?? 'not-yet-proved',
      alertsToActOn: byCause(view.alerts).filter(({ alert }) => isToActOn(alert)).length,
    }),
    need: needJson(need),
    savedDays: savedDays ?? null,
    tripHours: hours,
    savedPerHour: savedDays === undefined ? null : savedDays / hours,
    ...tripThere({ view, facts }, need),
    lastDaylight:
      daylight === undefined
        ? null
        : { from: instant(daylight.fromMs), until: instant(daylight.untilMs) },
    daylight: daylightFrom(site.position, facts.nowMs, DAYS_OF_DAYLIGHT).map((day) => ({
      from: instant(day.fromMs),
      until: instant(day.untilMs),
    })),
    planned:
      planned === undefined
        ? null
        : {
            id: planned.id,
            at: instant(planned.plannedAtMs),
            person: planned.person,
            state: planned.state,
          },
    ...(untold.length === 0
      ? {}
      : {
          untold: untold.map(({ id, plannedAtMs, person }) => ({
            id,
            at: instant(plannedAtMs),
            person,
          })),
        }),
    lastVisitAt: lastVisitMs === undefined ? null : instant(lastVisitMs),
  };
}

/** What somebody would do there, and bring for it; what is taken on every visit is not repeated here. */
function tripThere(site: SiteInNeed, need: SiteNeed): Pick<SiteRow, 'bring' | 'purpose'> {
  if (need.kind !== 'by') return { bring: [], purpose: '' };
  const work = workAt(site);
  return {
    bring: work.bring.filter(({ because }) => because !== EVERY_VISIT).map(({ what }) => what),
    purpose: visitPurpose(site.facts, need, work),
  };
}

const URGENCY = { by: 0, 'cannot-tell': 1, 'no-need': 2 } as const;
const byUrgency = (a: SiteRow, b: SiteRow): number =>
  URGENCY[a.need.kind] - URGENCY[b.need.kind] ||
  (a.need.at ?? '9').localeCompare(b.need.at ?? '9') ||
  (b.savedPerHour ?? 0) - (a.savedPerHour ?? 0) ||
  a.siteName.localeCompare(b.siteName);

interface Stop extends RoundStop {
  readonly row: SiteRow;
}

/** Sites somebody must go to within a fortnight, and nobody has planned to. */
function stopsOf(
  sites: readonly { readonly site: SiteInNeed; readonly row: SiteRow }[],
  nowMs: number,
): readonly Stop[] {
  return sites.flatMap(({ site, row }) => {
    if (row.need.kind !== 'by' || row.need.at === null || row.planned !== null) return [];
    const byMs = Date.parse(row.need.at);
    if (byMs - nowMs > PLANNED_AHEAD_MS) return [];
    const { latitudeDeg, longitudeDeg } = site.view.site.position;
    return [
      {
        latitudeDeg,
        longitudeDeg,
        byMs,
        row,
        ...(row.savedDays === null ? {} : { savedDays: row.savedDays }),
      },
    ];
  });
}

function roundJson(round: SuggestedRound<Stop>): RoundsJson['suggested'][number] {
  const bring = new Map<string, string[]>();
  for (const { row } of round.stops)
    for (const what of row.bring) bring.set(what, [...(bring.get(what) ?? []), row.siteName]);
  return {
    siteIds: round.stops.map(({ row }) => row.siteId),
    legsKm: [...round.legsKm],
    distanceKm: round.distanceKm,
    hours: round.hours,
    by: instant(round.byMs),
    savedDays: round.savedDays,
    savedPerHour: round.savedPerHour,
    bring: [...bring].map(([what, siteNames]) => ({ what, siteNames })),
  };
}

function travelJson(travel: Travel): RoundsJson['travel'] {
  const { home, speedKmh, hoursAtSite, mostHours, mostStops } = travel;
  const from: Place | undefined = home;
  return {
    fromLatitudeDeg: from?.latitudeDeg ?? null,
    fromLongitudeDeg: from?.longitudeDeg ?? null,
    speedKmh,
    hoursAtSite,
    mostHours,
    mostStops,
    says: [
      `Distances are great-circle distances, not roads; hours reckon with ${speedKmh} km/h along them and ${Math.round(hoursAtSite * 60)} min at each site${from === undefined ? ', and not with the way from home and back' : ', from home and back'}.`,
      mostHours < USUAL_TRAVEL.mostHours
        ? `A round fits into a day’s light there, back ${DARK_MARGIN_MS / MINUTE_MS} min before dark: ${mostHours.toFixed(1)} h at most.`
        : `A round takes ${mostHours} h at most.`,
    ].join(' '),
  };
}
