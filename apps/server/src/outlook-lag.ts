import type { FleetPulse } from '@duskline/store';

/**
 * How far the outlook that is furthest behind lies behind the readings it could rest on, ms; undefined where none can be behind.
 * A node that is heard but whose times cannot be trusted has no readings to make one from: that is not the server's fault.
 */
export function outlookLagMs(pulses: readonly FleetPulse[], nowMs: number): number | undefined {
  const lags = pulses.flatMap(({ state, lastOutlookAtMs, lastObservedAtMs }) =>
    (state === 'up' || state === 'low') &&
    lastOutlookAtMs !== undefined &&
    lastObservedAtMs !== undefined
      ? [Math.max(0, Math.min(nowMs, lastObservedAtMs) - lastOutlookAtMs)]
      : [],
  );
  return lags.length === 0 ? undefined : Math.max(...lags);
}
