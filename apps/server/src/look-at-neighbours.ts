import { DAY_MS, HOUR_MS, metric, metricKeys, type MetricKey } from '@duskline/domain';
import { compareWithNeighbours, limitsOverTime, NEIGHBOUR_KM } from '@duskline/quality';
import type { Store } from '@duskline/store';

/** A day is judged when it has been over for so long: late readings of the night are there by then. */
const AFTER_MS = 6 * HOUR_MS;

/**
 * Holds the mean of the last whole day (UTC) of each node against its neighbours', and writes what lies too far off into the
 * logbook of the site. Readings keep their flags: no node's flags are to follow from another node's readings. May be repeated.
 *
 * @returns lines written
 */
export async function lookAtNeighbours(
  store: Pick<Store, 'dayMeans' | 'qualityLimits'>,
  nowMs: number,
): Promise<number> {
  const endMs = Math.floor((nowMs - AFTER_MS) / DAY_MS) * DAY_MS;
  let written = 0;
  for (const key of metricKeys) {
    // Defaults decide which metrics are compared at all; what people set decides how.
    if (limitsOverTime([]).at(endMs).of(key).neighbour === undefined) continue;
    written += await lookAtMetric(store, key, endMs);
  }
  return written;
}

async function lookAtMetric(
  store: Pick<Store, 'dayMeans' | 'qualityLimits'>,
  key: MetricKey,
  endMs: number,
): Promise<number> {
  const means = await store.dayMeans.of(key, endMs - DAY_MS);
  const limits = new Map<number, { readonly suspect: number } | undefined>(
    await Promise.all(
      means.map(async ({ nodeId }) => {
        // Of a day in which a part was replaced: by what was there at its end.
        const inForce = limitsOverTime(await store.qualityLimits.inForce(nodeId)).at(endMs - 1);
        return [nodeId, inForce.of(key).neighbour] as const;
      }),
    ),
  );
  let written = 0;
  for (const found of compareWithNeighbours(means, (node) => limits.get(node))) {
    const mean = means.find(({ nodeId }) => nodeId === found.nodeId);
    if (mean === undefined) continue;
    const { label, unit, decimals } = metric(key);
    const shown = (value: number): string => `${value.toFixed(decimals)} ${unit}`.trim();
    const sentence =
      `${label} of ${new Date(endMs - DAY_MS).toISOString().slice(0, 10)} (UTC), on the day's average ${shown(mean.value)}, ` +
      `lay ${shown(found.distance)} from the median of ${found.neighbours} neighbours within ${NEIGHBOUR_KM} km; ` +
      `above ${shown(found.limit)} it is suspect. Nothing was changed: look at the sensor, its shield and its place.`;
    const { siteId, nodeId } = mean;
    const isNew = await store.dayMeans.noteOnce({
      siteId,
      nodeId,
      atMs: endMs,
      kind: 'note',
      sentence,
    });
    if (isNew) written += 1;
  }
  return written;
}
