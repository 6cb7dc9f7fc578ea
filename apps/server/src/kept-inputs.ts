import type { FieldNode } from '@duskline/domain';
import type { OutlookInputs, OutlookKey, OutsideForecastRecord, Store } from '@duskline/store';
import { outsidePastIds } from './forecast-at.ts';
import { learntSiteOf, outsideOf, type Lessons } from './read-lessons.ts';

/** All that one issued outlook was made of. */
export interface KeptInputs {
  readonly inputs: OutlookInputs;
  readonly lessons: Pick<Lessons, 'learnt' | 'outside'>;
}

/** Reads them; undefined when the outlook is not there, or was issued before they were kept. */
export async function keptInputs(
  store: Store,
  node: FieldNode,
  key: OutlookKey,
): Promise<KeptInputs | undefined> {
  const inputs = await store.outlooks.inputs(node.id, key);
  if (inputs === undefined) return undefined;
  const { learntAtMs, outsideId } = inputs;
  const [learnt, outside, past] = await Promise.all([
    learntAtMs === undefined ? undefined : store.learnt.asOf(node.id, learntAtMs),
    outsideId === undefined ? undefined : store.outsideForecasts.find(outsideId),
    Promise.all(outsidePastIds(inputs).map((id) => store.outsideForecasts.find(id))),
  ]);
  const site = learntSiteOf(learnt?.body);
  const isThere = (one: OutsideForecastRecord | undefined) => one !== undefined;
  return {
    inputs,
    lessons: {
      ...(learnt === undefined || site === undefined
        ? {}
        : { learnt: { atMs: learnt.learntAtMs, site } }),
      ...(outside === undefined ? {} : { outside: outsideOf(outside, past.filter(isThere)) }),
    },
  };
}
