import { HOUR_MS } from '@duskline/domain';
import type { FleetPulse } from '@duskline/store';
import { expect, it } from 'vitest';
import { outlookLagMs } from './outlook-lag.ts';

const nowMs = Date.UTC(2026, 10, 26, 12);
const pulse = (state: string, observedHoursAgo: number, outlookHoursAgo: number) =>
  ({
    state,
    lastObservedAtMs: nowMs - observedHoursAgo * HOUR_MS,
    lastOutlookAtMs: nowMs - outlookHoursAgo * HOUR_MS,
  }) as FleetPulse;

it('is that of the node whose readings have gone on longest without an outlook', () => {
  expect(outlookLagMs([pulse('up', 0, 1), pulse('low', 1, 30)], nowMs)).toBe(29 * HOUR_MS);
});

it('blames nobody for a node whose readings ended, or that is dark', () => {
  expect(outlookLagMs([pulse('up', 40, 40)], nowMs)).toBe(0);
  expect(outlookLagMs([pulse('dark-as-designed', 0, 90)], nowMs)).toBeUndefined();
});
