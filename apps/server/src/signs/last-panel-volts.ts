import { HOUR_MS } from '@duskline/domain';
import { sunPosition } from '@duskline/energy';
import type { Store } from '@duskline/store';
import type { NodeSituation } from '../gather-facts.ts';

const DAYLIGHT_BELOW_ZENITH_DEG = 80;

/** The last two readings of the panel's voltage in daylight within its last hour, newest last. */
export async function lastPanelVolts(
  store: Store,
  { lastObservedAtMs, site, node }: NodeSituation,
): Promise<readonly number[]> {
  if (lastObservedAtMs === undefined) return [];
  const readings = await store.samples.raw(node.id, 'panel_v', {
    fromMs: lastObservedAtMs - HOUR_MS,
    toMs: lastObservedAtMs + 1,
    limit: 400,
  });
  const { latitudeDeg, longitudeDeg } = site.position;
  return readings
    .filter(
      ({ atMs }) =>
        sunPosition(atMs, latitudeDeg, longitudeDeg).zenithDeg < DAYLIGHT_BELOW_ZENITH_DEG,
    )
    .slice(-2)
    .map(({ value }) => value);
}
