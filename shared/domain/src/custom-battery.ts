/** What a builder knows of a battery that is none of the known chemistries, or better than the tables do. Kept beside its node. */
export interface CustomBattery {
  readonly name: string;
  /** Rest voltage of the whole pack: [charge 0–1, V], both rising, from empty to full. */
  readonly voltagePoints: readonly (readonly [chargeRatio: number, voltageV: number])[];
  /** Cell temperatures between which it may be charged, °C. */
  readonly chargeC: readonly [minC: number, maxC: number];
  /** Cell temperatures between which it may be used, °C. */
  readonly dischargeC: readonly [minC: number, maxC: number];
  /** Resistance of the whole pack at 25 °C, Ω. */
  readonly restResistanceOhm?: number;
}
