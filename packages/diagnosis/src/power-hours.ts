/**
 * The last weeks of a node by the hour, aligned: index i is the hour that starts at startMs + i · 1 h; null where nothing
 * was read. What should have come in is handed over, not worked out here.
 */
export interface PowerHours {
  readonly startMs: number;
  readonly panelW: readonly (number | null)[];
  readonly panelV: readonly (number | null)[];
  readonly loadW: readonly (number | null)[];
  readonly chargeRatio: readonly (number | null)[];
  readonly batteryC: readonly (number | null)[];
  readonly airC: readonly (number | null)[];
  readonly rainMm: readonly (number | null)[];
  readonly boxRhPercent: readonly (number | null)[];
  /** What this panel, as learnt, would give in a cloudless hour, W. */
  readonly expectedW: readonly number[];
  /** From north, clockwise, at the middle of the hour. */
  readonly sunAzimuthDeg: readonly number[];
  /** Battery temperatures outside which it cannot be charged. */
  readonly chargeLimitsC: readonly [low: number, high: number];
  /** Of local mean solar time: days begin at its midnight. */
  readonly longitudeDeg: number;
  /** Median share of the cloudless harvest that other sites had, by solar day number (see `solarDayNumber`). */
  readonly peerYield?: ReadonlyMap<number, number>;
}
