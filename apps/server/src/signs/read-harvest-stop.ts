import { harvestStop, type PowerSeen } from '@duskline/diagnosis';
import type { Diagnosis, HarvestStop } from '@duskline/domain';
import type { Store } from '@duskline/store';
import type { NodeSituation } from '../gather-facts.ts';

/**
 * The failed way of the harvest, as far as diagnosis is certain of it and nobody has been there since: whoever came may have
 * mended it, and what a node that is dark has to say of that comes only with its next message.
 */
export async function readHarvestStop(
  store: Store,
  { node, site, nowMs }: NodeSituation,
  { power, diagnosis }: { readonly power: PowerSeen; readonly diagnosis: Diagnosis },
): Promise<HarvestStop | undefined> {
  const stop = harvestStop(power, diagnosis);
  if (stop === undefined) return undefined;
  const [visits, parts] = await Promise.all([
    store.visits.list({
      fromMs: stop.sinceMs,
      toMs: nowMs,
      siteId: site.id,
      states: ['done'],
    }),
    store.parts.list(node.siteId),
  ]);
  const isVisited = visits.some(({ backAtMs }) => (backAtMs ?? 0) > stop.sinceMs);
  const isReplaced = parts.some(
    ({ kind, fittedAtMs }) => (kind === 'panel' || kind === 'charger') && fittedAtMs > stop.sinceMs,
  );
  return isVisited || isReplaced ? undefined : stop;
}
