import { DAY_MS } from '@duskline/domain';
import { fleetRecalibration } from '@duskline/forecast';
import type { Store } from '@duskline/store';
import { scoredOutlook } from './score-desk.ts';

/** What happened longer ago was foretold by another forecaster, in other weather. */
const LOOK_BACK_MS = 730 * DAY_MS;
const RENEW_MS = DAY_MS;

/**
 * Learns from graded outlooks how the fleet's chances have to be bent, once a day, when enough came of them. Until then
 * nothing is bent, and no outlook says that it was.
 */
export async function recalibrateFleet(store: Store, nowMs: number): Promise<void> {
  const last = await store.scores.recalibration();
  if (last !== undefined && nowMs - last.fittedAtMs < RENEW_MS) return;
  const rows = await store.scores.daily({ fromMs: nowMs - LOOK_BACK_MS, toMs: nowMs });
  const map = fleetRecalibration(rows.map(scoredOutlook), nowMs);
  if (map !== undefined)
    await store.scores.keepRecalibration({ fittedAtMs: nowMs, outcomes: map.cases, body: map });
}
