import { dayName, daySpan, type TimeSpan } from './day-span.ts';
import { nodeStateWord, type NodeState } from './node-state.ts';

/** What the sentence over the fleet needs to know of one site. */
export interface SiteSummary {
  readonly name: string;
  readonly timeZone: string;
  readonly state: NodeState;
  /** Alerts a person must act on: new or taken. */
  readonly alertsToActOn: number;
  /** When the charge would reach the shut-down level (P10–P90); absent: not within the horizon, unknown, or dark. */
  readonly stops?: TimeSpan;
  /** When a dark node is expected back (P10–P90). */
  readonly back?: TimeSpan;
  /** Until then the outlook sees nine chances in ten of staying up; absent: too little data. */
  readonly clearUntilMs?: number;
}

export interface FleetSentence {
  /** The answer to "must I do anything?". */
  readonly first: string;
  /** Why not more: what is dark by design, and until when the others need nobody. May be empty. */
  readonly second: string;
}

const awake: readonly NodeState[] = ['up', 'low'];

/** Must somebody go, call or decide? Alerts say so, and so does a silence that no design explains. */
export const needsSomeone = (site: Pick<SiteSummary, 'state' | 'alertsToActOn'>): boolean =>
  site.alertsToActOn > 0 || site.state === 'overdue' || site.state === 'silent-unexplained';

/**
 * The fleet in two sentences: who needs someone and who goes dark next; then what is dark by design and how long the
 * others need nobody.
 *
 * @param summaries  one for each site, in any order; retired sites are not counted
 * @param nowMs      the instant the days are named from
 */
export function fleetSentence(summaries: readonly SiteSummary[], nowMs: number): FleetSentence {
  const sites = summaries.filter((site) => site.state !== 'retired');
  if (sites.length === 0) return { first: 'No site is set up yet.', second: '' };
  const needy = sites.filter(needsSomeone);
  const calm = sites.filter((site) => !needsSomeone(site));
  return {
    first: `${whoNeeds(needy.length, sites.length)}${whoIsNext(sites, nowMs)}.`,
    second: [
      darkByDesign(calm, nowMs),
      ...inOtherStates(calm),
      withoutOutlook(calm),
      theOthers(calm, { nowMs, all: sites.length }),
    ]
      .filter((part) => part !== '')
      .join(' '),
  };
}

function whoNeeds(needy: number, all: number): string {
  if (needy === 0)
    return all === 1
      ? 'The site needs nobody this week'
      : `None of ${all} sites needs anyone this week`;
  if (all === 1) return 'The one site needs someone this week';
  return `${needy} of ${all} sites ${needy === 1 ? 'needs' : 'need'} someone this week`;
}

function whoIsNext(sites: readonly SiteSummary[], nowMs: number): string {
  const next = sites
    .filter((site) => awake.includes(site.state) && site.stops !== undefined)
    .sort((a, b) => (a.stops?.fromMs ?? 0) - (b.stops?.fromMs ?? 0))[0];
  if (next?.stops === undefined) return '';
  const stops = { ...next.stops, fromMs: Math.max(next.stops.fromMs, nowMs) };
  return `; the next to go dark is ${next.name}, ${daySpan(stops, { timeZone: next.timeZone, nowMs })}`;
}

function darkByDesign(calm: readonly SiteSummary[], nowMs: number): string {
  const dark = calm.filter((site) => site.state === 'dark-as-designed');
  const [one] = dark;
  if (one === undefined) return '';
  const are = dark.length === 1 ? '1 is dark as designed' : `${dark.length} are dark as designed`;
  const last = dark
    .map((site) => ({ site, toMs: site.back?.toMs }))
    .sort((a, b) => (b.toMs ?? Infinity) - (a.toMs ?? Infinity))[0];
  if (last?.toMs === undefined) return `${are}.`;
  const by = dayName(last.toMs, { timeZone: last.site.timeZone, nowMs });
  return dark.length === 1
    ? `${are} and expected back by ${by}.`
    : `${are}, the last expected back by ${by}.`;
}

function inOtherStates(calm: readonly SiteSummary[]): string[] {
  const states: readonly NodeState[] = ['link-down', 'off-for-work', 'not-yet-proved'];
  return states.flatMap((state) => {
    const count = calm.filter((site) => site.state === state).length;
    if (count === 0) return [];
    return [`${count} ${count === 1 ? 'is' : 'are'} ${nodeStateWord[state]}.`];
  });
}

function withoutOutlook(calm: readonly SiteSummary[]): string {
  const count = calm.filter(
    (site) => awake.includes(site.state) && site.clearUntilMs === undefined,
  ).length;
  if (count === 0) return '';
  return `${count} ${count === 1 ? 'has' : 'have'} too little data for an outlook.`;
}

function theOthers(
  calm: readonly SiteSummary[],
  { nowMs, all }: { readonly nowMs: number; readonly all: number },
): string {
  const others = calm.filter(
    (site) => awake.includes(site.state) && site.clearUntilMs !== undefined,
  );
  const first = others
    .map((site) => ({ site, untilMs: site.clearUntilMs ?? Infinity }))
    .sort((a, b) => a.untilMs - b.untilMs)[0];
  if (first === undefined) return '';
  const before = dayName(Math.max(first.untilMs, nowMs), {
    timeZone: first.site.timeZone,
    nowMs,
  });
  const who = others.length === all ? (all === 1 ? 'It' : 'All') : `The other ${others.length}`;
  return `${who} should need nothing before ${before}.`;
}
