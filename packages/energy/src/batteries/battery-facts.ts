import type { BatteryChemistry } from '@duskline/domain';
import type { CurvePoints } from '../piecewise.ts';

/** A stretch of temperature and the fastest charge allowed in it, as a share of capacity per hour. */
export interface ChargeBand {
  readonly fromC: number;
  readonly toC: number;
  readonly ratePerH: number;
}

/** How capacity is lost to time and to use. */
export interface BatteryAgeing {
  readonly calendar:
    | { readonly kind: 'lithium-root-of-time' }
    | { readonly kind: 'even'; readonly lossPerYearAt25C: number };
  /** Depth of a cycle 0 … 1 → share of capacity lost per cycle. */
  readonly lossPerCycle: CurvePoints;
}

/** What is known of one chemistry, per cell, with where each figure comes from. `[M]` marks a figure recalled from memory. */
export interface BatteryFacts {
  readonly chemistry: BatteryChemistry;
  /** Given by the builder for a battery of their own. */
  readonly name?: string;
  readonly nominalCellV: number;
  /** Rest voltage of one cell at 25 °C: charge ratio → V, both rising. */
  readonly ocvPoints: CurvePoints;
  /** Other published rest curves: their spread is the honest width of a charge read from voltage. */
  readonly otherOcvPoints: readonly CurvePoints[];
  /** Least half width of the band of a charge read from rest voltage, as a ratio. */
  readonly voltageBandRatio: number;
  /** Where the curve is so flat that voltage says little, and the least half width there. */
  readonly plateau?:
    | {
        readonly fromRatio: number;
        readonly toRatio: number;
        readonly bandRatio: number;
      }
    | undefined;
  /** Voltages a working cell can show, charging included; outside them the sensor or the cell count is wrong. */
  readonly cellSpanV: readonly [lowV: number, highV: number];
  /** At and above this under charge the charger is holding the voltage: the panel gives less than it could. */
  readonly fullCellV: number;
  /** Resistance of one cell times its capacity at 25 °C, Ω·Ah. */
  readonly resistanceOhmAh: number;
  /** Voltage under charge stands above rest for chemical reasons too (lead–acid surface charge). */
  readonly chargeLiftsVoltage: boolean;
  /** Energy kept on the way in, and on the way out, 0 … 1. */
  readonly chargeEfficiency: number;
  readonly dischargeEfficiency: number;
  /** Share of charge lost per month at `selfDischargeAtC`. */
  readonly selfDischargePerMonth: number;
  readonly selfDischargeAtC: number;
  readonly ageing: BatteryAgeing;
  /** Outside this range of battery temperature no charge is taken. */
  readonly chargeTemperatureC: readonly [minC: number, maxC: number];
  readonly dischargeTemperatureC: readonly [minC: number, maxC: number];
  /** From the coldest up, each beginning where the last ended. */
  readonly chargeBands: readonly ChargeBand[];
  /** From this far below full the accepted current falls in proportion to what is missing. */
  readonly taperWidthRatio: number;
  /** Battery temperature °C → share of the capacity at 25 °C. */
  readonly capacityPoints: CurvePoints;
  /** Share of the 25 °C capacity that can be drawn at a battery temperature; level outside the known points. */
  readonly capacityFactorAt: (temperatureC: number) => number;
  readonly sources: readonly string[];
}
