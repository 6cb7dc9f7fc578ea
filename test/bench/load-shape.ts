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

/** Values that look like readings and are the same for the same node and time. */
export function loadValues(node: number, at: number): number[] {
  return loadMetrics.map(
    (_, i) => Math.round(1000 * (10 + 5 * Math.sin(node + i + at / 50))) / 1000,
  );
}
