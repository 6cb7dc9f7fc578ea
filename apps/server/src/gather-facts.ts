import type { StateFacts } from '@duskline/diagnosis';
import {
  DARK_MARGIN_MS,
  DAY_MS,
  HOUR_MS,
  nextLight,
  type Alert,
  type LatestReading,
  type NodeId,
  type Outlook,
  type RuleMemory,
  type RuleSettings,
} from '@duskline/domain';
import { estimateCharge } from '@duskline/forecast';
import type { Store } from '@duskline/store';
import { overdueClock } from './overdue-clock.ts';
import { daylightFrom } from './rounds/daylight.ts';

/** What is known of one node when it is advanced. */
export interface NodeSituation extends StateFacts {
  readonly newsVersion: number;
  readonly latest: readonly LatestReading[];
  readonly lastOutlook?: Outlook;
  readonly openAlerts: readonly Alert[];
  readonly acceptedGap?: { readonly untilMs: number; readonly by: string };
  /** Of the rules: the node's own before its site's before the fleet's. */
  readonly settings: RuleSettings;
  /** No daylight is left at the site to work in: it gets light then. */
  readonly firstLightMs?: number;
  /** Somebody is there, or on the way. */
  readonly visitUnderWay: boolean;
  readonly memory: readonly RuleMemory[];
}

/** Yesterday, whose evening may last over midnight UTC, to the day after tomorrow. */
const DAYS_OF_LIGHT = 4;
/** A neighbour is heard when it was heard within this. */
const LATELY_MS = 2 * HOUR_MS;

/**
 * Asks the store for everything that a look at one node needs.
 *
 * @returns undefined when the node is gone
 */
export async function gatherFacts(
  store: Store,
  nodeId: NodeId,
  nowMs: number,
): Promise<NodeSituation | undefined> {
  const node = await store.nodes.find(nodeId);
  if (node === undefined) return undefined;
  // The pulse first: whatever is read after it is at least as new as the news it counts. Read beside it, the latest values
  // could be older, and the look would pass for one that had seen them.
  const facts = await store.nodes.facts(nodeId);
  const [
    site,
    latest,
    lastOutlook,
    outlookBefore,
    openAlerts,
    memory,
    others,
    gaps,
    settings,
    visitUnderWay,
  ] = await Promise.all([
    store.sites.find(node.siteId),
    store.latest.of(nodeId),
    store.outlooks.latest(nodeId),
    store.outlooks.lastAlive(nodeId),
    store.alerts.open(nodeId),
    store.alerts.memory(nodeId),
    store.nodes.neighbours(nodeId, nowMs - LATELY_MS),
    store.acceptedGaps.list(nowMs, node.siteId),
    store.ruleSettings.of(node),
    store.visits.underWay(node.siteId, nowMs),
  ]);
  if (site === undefined) return undefined;
  const clock = await overdueClock(store, { site, node, settings }, facts);
  const charge = estimateCharge({ latest, power: node.power, nowMs });
  return {
    nowMs,
    site,
    node,
    newsVersion: facts.newsVersion,
    latest,
    openAlerts,
    memory,
    others,
    settings,
    visitUnderWay,
    ...given(
      'acceptedGap',
      gaps.find(({ fromMs }) => fromMs <= nowMs),
    ),
    ...given(
      'firstLightMs',
      nextLight(daylightFrom(site.position, nowMs - DAY_MS, DAYS_OF_LIGHT), nowMs, DARK_MARGIN_MS),
    ),
    ...given('firstHeardAtMs', facts.firstHeardAtMs),
    ...given('lastHeardAtMs', facts.lastHeardAtMs),
    ...given('lastReceivedAtMs', facts.lastReceivedAtMs),
    ...given('lastObservedAtMs', facts.lastObservedAtMs),
    ...given('lastWord', facts.lastWord),
    ...given('charge', charge),
    ...given('lastOutlook', lastOutlook),
    ...given('outlookBefore', outlookBefore),
    ...clock,
  };
}

/** The property, when there is a value for it: absent is not the same as undefined. */
function given<K extends string, V>(key: K, value: V | undefined): { readonly [P in K]?: V } {
  return value === undefined ? {} : ({ [key]: value } as { readonly [P in K]?: V });
}
