import { DAY_MS } from '@duskline/domain';
import { PASS, type TestResult } from '../series.ts';

/** No node of ours is older. */
export const EARLIEST_MS = Date.UTC(2020, 0, 1);
/** So far after its receipt a reading may be dated. */
export const AHEAD_MS = DAY_MS;

/**
 * Impossible date: before any node was up, or more than a day after it was received.
 *
 * @source QARTOD manuals (syntax and time stamps); the spans are ours (reliability E7)
 */
export function impossibleDateTest(observedAtMs: number, receivedAtMs: number): TestResult {
  if (observedAtMs < EARLIEST_MS) return { flag: 4, found: observedAtMs, limit: EARLIEST_MS };
  const latestMs = receivedAtMs + AHEAD_MS;
  return observedAtMs > latestMs ? { flag: 4, found: observedAtMs, limit: latestMs } : PASS;
}
