import { defineBattery } from './define-battery.ts';

/** Sealed lead–acid with absorbed acid (glass mat). Tables are printed for six cells ("12 V"). */
export const leadAcidAgm = defineBattery({
  chemistry: 'lead-acid-agm',
  nominalCellV: 2, // six cells are called 12 V
  // [M] typical makers' table
  ocvPoints: [
    [0, 11.8 / 6],
    [0.25, 12 / 6],
    [0.5, 12.3 / 6],
    [0.75, 12.6 / 6],
    [1, 12.8 / 6],
  ],
  otherOcvPoints: [
    // A charge controller's manual, for 12 V lead–acid of any kind
    [
      [0, 10.5 / 6],
      [0.1, 11.31 / 6],
      [0.2, 11.58 / 6],
      [0.3, 11.75 / 6],
      [0.4, 11.9 / 6],
      [0.5, 12.06 / 6],
      [0.6, 12.2 / 6],
      [0.7, 12.32 / 6],
      [0.8, 12.42 / 6],
      [0.9, 12.5 / 6],
      [1, 12.7 / 6],
    ],
  ],
  voltageBandRatio: 0.15, // ±0.1 V of an uncalibrated 12 V reading plus the spread between makes
  cellSpanV: [1.6, 2.65], // common practice, no source: deep discharge to equalising
  fullCellV: 2.35, // [M] 14.1 V of a 12 V battery at 25 °C
  resistanceOhmAh: 0.05, // common practice, no source
  chargeLiftsVoltage: true,
  chargeEfficiency: 0.9, // [M] energy, one way
  dischargeEfficiency: 0.9, // [M] energy, one way
  selfDischargePerMonth: 0.03, // at 20 °C: handbook "Energy Unlimited", self-discharge table
  selfDischargeAtC: 20,
  // Common practice, no source: a fifth lost in five years at 25 °C. Use: makers give 300–700 deep cycles; 500 is taken.
  ageing: {
    calendar: { kind: 'even', lossPerYearAt25C: 0.04 },
    lossPerCycle: [
      [0, 0],
      [0.5, 0.2 / 1000],
      [0.8, 0.2 / 500],
      [1, 0.2 / 350],
    ],
  },
  // Up to 0.3 C below freezing: Battery University BU-410, table 1. 0.5 above it is the model's general ceiling.
  chargeBands: [
    { fromC: -20, toC: 0, ratePerH: 0.3 },
    { fromC: 0, toC: 50, ratePerH: 0.5 },
  ],
  dischargeTemperatureC: [-20, 50], // Battery University BU-410, table 1
  taperWidthRatio: 0.2, // assumption: absorption stage from 80 %
  // [M] typical data sheet at C/20
  capacityPoints: [
    [-20, 0.5],
    [-10, 0.68],
    [0, 0.82],
    [10, 0.92],
    [20, 0.98],
    [25, 1],
    [30, 1.02],
    [40, 1.04],
  ],
  sources: [
    'Rest voltage: typical makers’ table, from memory',
    'Spread: a charge controller’s manual',
    'Temperature limits: Battery University BU-410, table 1',
    'Self-discharge: handbook “Energy Unlimited”, self-discharge table',
    'Efficiency and capacity against temperature: from memory of data sheets',
  ],
});
