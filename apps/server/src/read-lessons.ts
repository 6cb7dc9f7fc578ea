import type { FieldNode } from '@duskline/domain';
import {
  LEARNT_VERSION,
  type LearntSite,
  type LogisticMap,
  type OutsideForecast,
} from '@duskline/forecast';
import type { Store } from '@duskline/store';

/** What an outlook rests on beside the readings. */
export interface Lessons {
  /** What the node has taught about itself. */
  readonly learnt?: { readonly atMs: number; readonly site: LearntSite };
  /** The newest weather forecast from outside. */
  readonly outside?: { readonly id: string; readonly forecast: OutsideForecast };
  /** How the fleet's chances have to be bent to be right as often as they say. */
  readonly recalibration?: LogisticMap;
}

/** Asks the store for what an outlook issued now may rest on. */
export async function readLessons(store: Store, node: FieldNode, nowMs: number): Promise<Lessons> {
  const [learnt, outside, recalibration] = await Promise.all([
    store.learnt.of(node.id),
    store.outsideForecasts.newest(node.siteId, nowMs),
    store.scores.recalibration(),
  ]);
  const site = learnt === undefined ? undefined : learntSiteOf(learnt.body);
  return {
    ...(learnt === undefined || site === undefined
      ? {}
      : { learnt: { atMs: learnt.learntAtMs, site } }),
    ...(outside === undefined
      ? {}
      : { outside: { id: outside.id, forecast: outside.body as OutsideForecast } }),
    ...(recalibration === undefined ? {} : { recalibration: recalibration.body as LogisticMap }),
  };
}

/** What was learnt by a program that knew another shape is learnt anew. */
export function learntSiteOf(body: unknown): LearntSite | undefined {
  const isKnown =
    typeof body === 'object' &&
    body !== null &&
    'version' in body &&
    body.version === LEARNT_VERSION;
  return isKnown ? (body as LearntSite) : undefined;
}
