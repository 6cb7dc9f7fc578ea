import {
  DAY_MS,
  HOUR_MS,
  type ChargeEstimate,
  type FieldNode,
  type HourlyHistory,
  type LatestReading,
  type NodeId,
  type Site,
} from '@duskline/domain';
import { solarDayStartMs } from '@duskline/energy';
import { estimateCharge, estimatePastCharges, withPastCharges } from '@duskline/forecast';
import type { IssuedOutlook, Store } from '@duskline/store';
import { forecastAt } from './forecast-at.ts';

/** Every so many days of a node's past: neighbouring days see the same weather and would tell nothing more. */
const EVERY_DAYS = 3;
/** Of older years the weather is used, but outlooks of then say little of the forecaster of today. */
const OLDEST_MS = 400 * DAY_MS;
/** A node that was not heard for so many hours before was not up, or nobody knows it. */
const HEARD_WITHIN_HOURS = 3;

/**
 * Outlooks as of past days of one node, at its midnight, while it was up, from nothing later: so that the score of a fleet
 * that brings its past along is not empty on its first day. Days on which an outlook was issued are left alone.
 *
 * @param pause  awaited before each outlook: whatever is live comes first
 * @returns how many were issued; undefined when there is no node whose past was not gone through
 */
export async function issueHindcasts(
  store: Store,
  nowMs: number,
  pause: () => Promise<void>,
): Promise<number | undefined> {
  const [todo] = await store.scores.hindcastTodo(1);
  if (todo === undefined) return undefined;
  const { nodeId, daysKnown } = todo;
  const node = await store.nodes.find(nodeId);
  const site = node === undefined ? undefined : await store.sites.find(node.siteId);
  if (node === undefined || site === undefined) return 0;
  const fromMs = Math.max(todo.firstAtMs, nowMs - OLDEST_MS);
  const [read, issuedDays] = await Promise.all([
    store.rollups.hourly(nodeId, Math.floor(fromMs / DAY_MS) * DAY_MS, nowMs),
    store.scores.issuedDays(nodeId),
  ]);
  const past = {
    node,
    site,
    history: withPastCharges(read, estimatePastCharges(read, node.power)),
  };
  const done = new Set(issuedDays);
  let issued = 0;
  for (let day = Math.ceil(fromMs / DAY_MS); day < Math.floor(nowMs / DAY_MS); day++) {
    if (day % EVERY_DAYS !== 0 || done.has(day)) continue;
    await pause();
    issued += await keepHindcast(store, nodeId, hindcastOf(past, day));
  }
  await store.scores.markHindcasts(nodeId, daysKnown, nowMs);
  return issued;
}

async function keepHindcast(
  store: Store,
  nodeId: NodeId,
  hindcast: IssuedOutlook | undefined,
): Promise<number> {
  if (hindcast?.score === undefined) return 0;
  await store.outlooks.keepHindcasts(nodeId, [hindcast]);
  return 1;
}

interface NodePast {
  readonly node: FieldNode;
  readonly site: Site;
  readonly history: HourlyHistory;
}

function hindcastOf(past: NodePast, day: number): IssuedOutlook | undefined {
  const noonMs = day * DAY_MS + DAY_MS / 2;
  const midnightMs = solarDayStartMs(noonMs, past.site.position.longitudeDeg);
  const atMs = Math.round(midnightMs / HOUR_MS) * HOUR_MS;
  const charge = chargeAt(past, atMs);
  if (charge === undefined || charge.ratio <= past.node.power.shutDownRatio) return undefined;
  return forecastAt({ ...past, lessons: {} }, { atMs, charge, hindcast: true });
}

/** The charge of the last hour heard before an instant, by the means the node has. */
function chargeAt({ node, history }: NodePast, atMs: number): ChargeEstimate | undefined {
  const last = Math.floor((atMs - history.startMs) / HOUR_MS) - 1;
  for (let hour = last; hour > last - HEARD_WITHIN_HOURS && hour >= 0; hour--) {
    const ratio = history.chargeRatio[hour] ?? null;
    if (ratio === null) continue;
    const observedAtMs = history.startMs + (hour + 0.5) * HOUR_MS;
    const gauge: LatestReading = { metric: 'charge', observedAtMs, value: ratio * 100 };
    return estimateCharge({ latest: [gauge], power: node.power, nowMs: atMs });
  }
  return undefined;
}
