/** One possible course of an outside forecast, step by step; null = the forecast says nothing. */
export interface OutsideMember {
  /** Level irradiance, mean of the step, W/m². */
  readonly ghiWm2?: readonly (number | null)[];
  /** Cover of the sky by cloud, 0 … 1; used where there is no irradiance. */
  readonly cloudRatio?: readonly (number | null)[];
  /** Air, mean of the step, °C. */
  readonly airC?: readonly (number | null)[];
}

/** A weather forecast from elsewhere: one member, or an ensemble of equally likely ones. */
export interface OutsideForecast {
  /** Who made it, for people to read. */
  readonly source: string;
  readonly issuedAtMs: number;
  /** Start of the first step. */
  readonly startMs: number;
  /** An hour, or a day (then a step is taken for the solar day it mostly lies in). */
  readonly stepMs: number;
  /** At least one; each series as long as there are steps. */
  readonly members: readonly OutsideMember[];
}
