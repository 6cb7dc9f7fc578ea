import type { Lane, MetricKey } from '@duskline/domain';

export const fewMetrics: readonly MetricKey[] = ['batt_v', 'charge', 'load_w', 'panel_w'];
/** As a node with a weather mast has. Sorted by name, as a layout is. */
export const twelveMetrics: readonly MetricKey[] = [
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

/** What a node reads is a function of who, what and when, so the truth need not be kept. */
export interface TruthOf {
  readonly seed: number;
  readonly node: number;
}
export function truth({ seed, node }: TruthOf, metric: number, observedAtMs: number): number {
  const phase = (seed % 97) * 0.7 + node * 7.3 + metric * 2.1 + (observedAtMs / 1000) * 0.37;
  return Math.round(1e6 * (20 + 10 * Math.sin(phase))) / 1e6;
}

/** A row of messages of one boot of one node: message `seq` (from 1) holds the next `perMessage` samples. */
export interface StreamPlan {
  readonly boot: number;
  readonly lane: Lane;
  readonly startMs: number;
  readonly stepMs: number;
  readonly perMessage: number;
  /** Messages that are there from the beginning. */
  readonly ready: number;
  /** Further ones come at this pace; without it none do. */
  readonly everyMs?: number;
  /** Messages on their way at once; default 50. */
  readonly window?: number;
  /** Shares (0–1) of messages that go out before their turn and that go out twice. */
  readonly disorder?: { readonly shuffled: number; readonly repeated: number };
}

/** Times of the samples in message `seq`. */
export function timesIn(plan: StreamPlan, seq: number): readonly number[] {
  const first = (seq - 1) * plan.perMessage;
  return Array.from(
    { length: plan.perMessage },
    (_, i) => plan.startMs + (first + i) * plan.stepMs,
  );
}
