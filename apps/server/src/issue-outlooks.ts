import { evaluateRules, rules } from '@duskline/alerts';
import {
  HOUR_MS,
  MINUTE_MS,
  SECOND_MS,
  type ChargeEstimate,
  type HourlyHistory,
  type NodeState,
  type Outlook,
  type RuleMemory,
  type StateVerdict,
} from '@duskline/domain';
import { estimatePastCharges, withPastCharges } from '@duskline/forecast';
import type { Advance, IssuedOutlook, Store } from '@duskline/store';
import { forecastAt } from './forecast-at.ts';
import type { NodeSituation } from './gather-facts.ts';
import { historyStartMs } from './history-until.ts';
import { learnNode } from './learn-node.ts';
import { readLessons, type Lessons } from './read-lessons.ts';

const RENEW_MS = HOUR_MS;
/** What was short may have come with the next messages. */
const RETRY_MS = MINUTE_MS;
/** With no reading younger than this and three usual gaps it is silent, or still telling its past. */
const STALE_MS = HOUR_MS / 2;
/** How far back the first outlook of all is also issued: rules that want two runs need not wait an hour. */
const LOOK_BACK_MS = HOUR_MS;

const SILENT: ReadonlySet<NodeState> = new Set(['silent-unexplained', 'link-down']);

export interface IssuedNow {
  /** To be kept, oldest first. */
  readonly fresh: readonly IssuedOutlook[];
  readonly current: { readonly outlook?: Outlook };
  /** The charge of past hours in which no gauge spoke. */
  readonly pastCharges: readonly ChargeEstimate[];
  /** What more the node has taught. */
  readonly learnt?: NonNullable<Advance['learnt']>;
  /** What the rules remember, the run of an hour ago included. */
  readonly memory: readonly RuleMemory[];
}

/**
 * The outlook of a node, made anew when it is due: none yet, an hour old, or the node went dark or came back, or its harvest did.
 *
 * When a node goes dark the first outlook is issued as of that moment, with nothing known later; it is the one by which the
 * node can be late. The first outlook of a node that brings its past along is issued once more as of an hour ago.
 * Of one that brought it along and is silent no outlook is made, but what it taught is learnt.
 */
export async function issueOutlooks(
  store: Store,
  facts: NodeSituation,
  verdict: StateVerdict,
): Promise<IssuedNow> {
  const { nowMs, node, lastOutlook } = facts;
  const isDark = verdict.state === 'dark-as-designed' || verdict.state === 'overdue';
  const keep: IssuedNow = {
    fresh: [],
    current: lastOutlook === undefined ? {} : { outlook: lastOutlook },
    memory: facts.memory,
    pastCharges: [],
  };
  const due = isDue(facts, isDark);
  const wasNeverUpHere = lastOutlook === undefined && SILENT.has(verdict.state);
  if (!due && !wasNeverUpHere) return keep;

  const [known, read] = await Promise.all([
    store.rollups.hourly(node.id, historyStartMs(nowMs), nowMs),
    readLessons(store, node, nowMs),
  ]);
  const pastCharges = estimatePastCharges(known, node.power);
  const history = withPastCharges(known, pastCharges);
  const { lessons, learnt } = learnNode({ node, site: facts.site, history }, read, nowMs);
  if (!due) return { ...keep, ...(learnt === undefined ? {} : { learnt }) };
  const issue = outlookMaker(facts, { history, lessons });
  const fresh: IssuedOutlook[] = [];
  if (isDark && facts.firstWindow === undefined && !wasIssuedDark(lastOutlook)) {
    const sinceMs = stoppedAtMs(facts, verdict);
    if (nowMs - sinceMs > HOUR_MS)
      fresh.push(issue({ atMs: sinceMs, darkSinceMs: sinceMs, hindcast: true }));
  }
  const issued = issue({
    atMs: nowMs,
    hindcast: false,
    ...(isDark ? { darkSinceMs: stoppedAtMs(facts, verdict) } : {}),
  });
  fresh.push(issued);
  const isFirst =
    lastOutlook === undefined ||
    lastOutlook.kind === 'insufficient-data' ||
    wasIssuedDark(lastOutlook);
  const memory = isFirst && !isDark ? anHourAgo(facts, history, { verdict, issue }) : facts.memory;
  return {
    fresh,
    current: { outlook: issued.outlook },
    memory,
    pastCharges,
    ...(learnt === undefined ? {} : { learnt }),
  };
}

function isDue(
  { nowMs, node, lastOutlook, lastObservedAtMs, harvestStop }: NodeSituation,
  isDark: boolean,
): boolean {
  if (lastObservedAtMs === undefined) return false;
  const staleMs = Math.max(STALE_MS, 3 * node.power.usualGapS * SECOND_MS);
  if (!isDark && nowMs - lastObservedAtMs > staleMs) return false;
  if (lastOutlook === undefined || wasIssuedDark(lastOutlook) !== isDark) return true;
  if ((lastOutlook.harvestStop === undefined) !== (harvestStop === undefined)) return true;
  const ageMs = nowMs - lastOutlook.issuedAtMs;
  return ageMs >= (lastOutlook.kind === 'insufficient-data' ? RETRY_MS : RENEW_MS);
}

const wasIssuedDark = (outlook: Outlook | undefined): boolean => outlook?.whileDark === true;

/** When it stopped: `overdue` counts from the end of its window, so the readings are asked instead. */
function stoppedAtMs({ lastWord, lastObservedAtMs }: NodeSituation, verdict: StateVerdict): number {
  if (lastWord?.kind === 'farewell') return lastWord.atMs;
  return lastObservedAtMs ?? verdict.sinceMs;
}

type OutlookMaker = (when: {
  readonly atMs: number;
  readonly darkSinceMs?: number;
  readonly charge?: ChargeEstimate;
  readonly hindcast: boolean;
}) => IssuedOutlook;

const outlookMaker =
  (
    { node, site, charge, harvestStop }: NodeSituation,
    past: { readonly history: HourlyHistory; readonly lessons: Lessons },
  ): OutlookMaker =>
  (when) => {
    const { shutDownRatio, restartRatio } = node.power;
    const chargeRatio = Math.min(charge?.ratio ?? shutDownRatio, restartRatio);
    return forecastAt(
      { node, site, ...past },
      {
        atMs: when.atMs,
        charge: when.charge ?? charge,
        hindcast: when.hindcast,
        // What began later was not known then.
        ...(harvestStop === undefined || harvestStop.sinceMs >= when.atMs ? {} : { harvestStop }),
        ...(when.darkSinceMs === undefined
          ? {}
          : { dark: { sinceMs: when.darkSinceMs, chargeRatio } }),
      },
    );
  };

/** What the rules would remember now, had the node been looked at an hour ago. Nothing is raised for that hour. */
function anHourAgo(
  facts: NodeSituation,
  history: HourlyHistory,
  { verdict, issue }: { readonly verdict: StateVerdict; readonly issue: OutlookMaker },
): readonly RuleMemory[] {
  const atMs = facts.nowMs - LOOK_BACK_MS;
  const ratio = history.chargeRatio[Math.floor((atMs - history.startMs) / HOUR_MS)];
  if (facts.charge === undefined || ratio === null || ratio === undefined) return facts.memory;
  const shift = ratio - facts.charge.ratio;
  const within = (value: number) => Math.min(1, Math.max(0, value));
  const charge: ChargeEstimate = {
    ...facts.charge,
    ratio,
    lowRatio: within(facts.charge.lowRatio + shift),
    highRatio: within(facts.charge.highRatio + shift),
    observedAtMs: atMs,
  };
  const { outlook } = issue({ atMs, charge, hindcast: true });
  const run = evaluateRules(
    rules,
    { ...facts, nowMs: atMs, verdict, charge, outlook },
    { open: facts.openAlerts, memory: facts.memory },
  );
  return run.memory;
}
