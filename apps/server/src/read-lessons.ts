import type { FieldNode } from '@duskline/domain';
import {
  LEARNT_VERSION,
  type LearntSite,
  type LogisticMap,
  type OutsideFacts,
  type OutsideForecast,
} from '@duskline/forecast';
import type { OutsideForecastRecord, Store } from '@duskline/store';

/** What an outlook rests on beside the readings. */
export interface Lessons {
  /** What the node has taught about itself. */
  readonly learnt?: { readonly atMs: number; readonly site: LearntSite };
  /** The newest weather forecast from outside. */
  readonly outside?: OutsideLesson;
  /** When the battery that is there now was fitted. */
  readonly batteryFittedAtMs?: number;
  /** How the fleet's chances have to be bent to be right as often as they say. */
  readonly recalibration?: LogisticMap;
}

/** The newest forecast, and earlier ones to judge it by. */
export interface OutsideLesson {
  readonly id: string;
  readonly pastIds: readonly string[];
  readonly facts: OutsideFacts;
}

/** How many earlier forecasts say how far one may be trusted. */
const PAST_FORECASTS = 60;

/** Asks the store for what an outlook issued now may rest on. */
export async function readLessons(store: Store, node: FieldNode, nowMs: number): Promise<Lessons> {
  const [learnt, outside, recalibration, parts] = await Promise.all([
    store.learnt.of(node.id),
    outsideLesson(store, node, nowMs),
    store.scores.recalibration(),
    store.parts.list(node.siteId),
  ]);
  const battery = parts.find(
    ({ kind, removedAtMs }) => kind === 'battery' && removedAtMs === undefined,
  );
  const site = learnt === undefined ? undefined : learntSiteOf(learnt.body);
  return {
    ...(learnt === undefined || site === undefined
      ? {}
      : { learnt: { atMs: learnt.learntAtMs, site } }),
    ...(outside === undefined ? {} : { outside }),
    ...(battery === undefined ? {} : { batteryFittedAtMs: battery.fittedAtMs }),
    ...(recalibration === undefined ? {} : { recalibration: recalibration.body as LogisticMap }),
  };
}

async function outsideLesson(
  store: Store,
  node: FieldNode,
  nowMs: number,
): Promise<OutsideLesson | undefined> {
  const newest = await store.outsideForecasts.newest(node.siteId, nowMs);
  if (newest === undefined) return undefined;
  // Only those an outlook was made of: they can no longer be changed, so that this outlook can be made again as well.
  const past = (await store.outsideForecasts.list(node.siteId, PAST_FORECASTS)).filter(
    ({ id, issuedAtMs, lastUsedAtMs }) =>
      id !== newest.id && issuedAtMs < newest.issuedAtMs && lastUsedAtMs !== undefined,
  );
  return outsideOf(newest, past);
}

/** Forecasts as the forecaster takes them; what the store keeps of them was checked when it came in. */
export const outsideOf = (
  newest: OutsideForecastRecord,
  past: readonly OutsideForecastRecord[],
): OutsideLesson => ({
  id: newest.id,
  pastIds: past.map(({ id }) => id),
  facts: {
    latest: newest.body as OutsideForecast,
    ...(past.length === 0 ? {} : { past: past.map(({ body }) => body as OutsideForecast) }),
  },
});

/** What was learnt by a program that knew another shape is learnt anew. */
export function learntSiteOf(body: unknown): LearntSite | undefined {
  const isKnown =
    typeof body === 'object' &&
    body !== null &&
    'version' in body &&
    body.version === LEARNT_VERSION;
  return isKnown ? (body as LearntSite) : undefined;
}
