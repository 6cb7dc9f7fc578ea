export const chargeMethods = ['gauge', 'rest-voltage', 'loaded-voltage', 'counted'] as const;
export type ChargeMethod = (typeof chargeMethods)[number];

/** State of charge as a fraction (0–1) of present capacity: never without its band and its method. */
export interface ChargeEstimate {
  readonly ratio: number;
  /** 10 % and 90 % ends of the band. */
  readonly lowRatio: number;
  readonly highRatio: number;
  readonly method: ChargeMethod;
  readonly observedAtMs: number;
}
