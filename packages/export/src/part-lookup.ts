import { metric, type MetricKey, type Part, type PartKind } from '@duskline/domain';

const kindOf: Readonly<Partial<Record<MetricKey, PartKind>>> = {
  batt_v: 'battery',
  batt_i: 'battery',
  batt_temp: 'battery',
  charge: 'battery',
  energy_usable: 'battery',
  capacity_est: 'battery',
  batt_resist: 'battery',
  panel_v: 'panel',
  panel_i: 'panel',
  panel_w: 'panel',
  harvest_day: 'panel',
  yield_index: 'panel',
  charge_stage: 'charger',
  signal: 'radio',
  tx_bytes: 'radio',
  rx_bytes: 'radio',
  cpu_temp: 'board',
  disk_free: 'board',
  disk_err: 'board',
  fs_ro: 'board',
  undervolt_n: 'board',
  uptime: 'board',
  boot: 'board',
  boot_cause: 'board',
};

/** What the server or the node reckons itself, or what hangs on no part. */
const ofNoPart: ReadonlySet<MetricKey> = new Set([
  'load_v',
  'load_i',
  'load_w',
  'load_day',
  'seq',
  'clock_offset',
  'clock_src',
  'backlog',
  'interval',
  'avail_up',
  'days_to_empty',
  'image_n',
  'trigger_n',
]);

/**
 * Which part a metric was measured by, or of, at a time: the one part of its kind that was fitted then; for a sensor the one
 * whose calibration speaks in the metric's unit, or the only one without. Empty where that is not one part.
 */
export function partFor(key: MetricKey, parts: readonly Part[], atMs: number): string {
  if (ofNoPart.has(key)) return '';
  const fitted = parts.filter(
    ({ fittedAtMs, removedAtMs }) => fittedAtMs <= atMs && atMs < (removedAtMs ?? Infinity),
  );
  const kind = kindOf[key];
  if (kind !== undefined) return only(fitted.filter((part) => part.kind === kind));
  const sensors = fitted.filter((part) => part.kind === 'sensor');
  const calibrated = sensors.filter(({ calibration }) => calibration?.unit === metric(key).unit);
  return only(
    calibrated.length > 0
      ? calibrated
      : sensors.filter(({ calibration }) => calibration === undefined),
  );
}

const only = (parts: readonly Part[]): string => (parts.length === 1 ? (parts[0]?.id ?? '') : '');

/** When the answer may change: ascending, without repeats. */
export const partChanges = (parts: readonly Part[]): readonly number[] =>
  [
    ...new Set(
      parts.flatMap(({ fittedAtMs, removedAtMs }) =>
        removedAtMs === undefined ? [fittedAtMs] : [fittedAtMs, removedAtMs],
      ),
    ),
  ].sort((a, b) => a - b);
