import type { MetricKey } from '@duskline/domain';

/** Twelve metrics, as a node with a weather mast has. Sorted by name, as a layout is. */
export const loadMetrics: readonly MetricKey[] = [
  'air_temp',
  'batt_i',
  'batt_temp',
  'batt_v',
  'box_temp',
  'charge',
  'load_w',
  'panel_v',
  'panel_w',
  'rel_hum',
  'signal',
  'wind_speed',
];

const DAY_MS = 86_400_000;

/**
 * Values as a quiet late autumn has them, the same for the same node and time: a wavering of its own in each, a panel that
 * works by day only. What quality tests would flag is written a second time, which would be another bench.
 */
export function loadValues(node: number, atMs: number): number[] {
  const waver = (metric: number) =>
    Math.sin(node + metric + atMs / 1_500_000) + 0.3 * Math.sin(metric + atMs / 47_000);
  const hour = ((atMs % DAY_MS) / DAY_MS) * 24;
  const sun = Math.max(0, Math.sin(((hour - 9) / 6) * Math.PI)) * (hour > 9 && hour < 15 ? 1 : 0);
  const values = [
    7 + waver(0),
    sun * 0.3 - 0.1 + 0.01 * waver(1),
    8 + waver(2),
    13.1 + 0.05 * waver(3),
    10 + waver(4),
    62 + waver(5),
    1.2 + 0.1 * waver(6),
    sun * 16 + 0.01 * (1.3 + waver(7)),
    sun * 5,
    82 + 3 * waver(9),
    -84 + 2 * waver(10),
    4 + waver(11),
  ];
  return values.map((value) => Math.round(1000 * value) / 1000);
}
