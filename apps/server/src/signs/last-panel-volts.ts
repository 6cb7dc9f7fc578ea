import { HOUR_MS } from '@duskline/domain';
import { sunPosition } from '@duskline/energy';
import type { Store } from '@duskline/store';
import type { NodeSituation } from '../gather-facts.ts';
import { lastStep } from './last-step.ts';

const DAYLIGHT_BELOW_ZENITH_DEG = 80;

/** The panel's voltage before and after its last step in daylight, within its last two hours; newest last. */
export async function lastPanelVolts(
  store: Store,
  { lastObservedAtMs, site, node }: NodeSituation,
): Promise<readonly number[]> {
  if (lastObservedAtMs === undefined) return [];
  const readings = await store.samples.raw(node.id, 'panel_v', {
    fromMs: lastObservedAtMs - 2 * HOUR_MS,
    toMs: lastObservedAtMs + 1,
    limit: 800,
  });
  const { latitudeDeg, longitudeDeg } = site.position;
  return lastStep(
    readings
      .filter(
        ({ atMs }) =>
          sunPosition(atMs, latitudeDeg, longitudeDeg).zenithDeg < DAYLIGHT_BELOW_ZENITH_DEG,
      )
      .map(({ value }) => value),
  );
}
