import { defineBattery } from './define-battery.ts';

/** Lead–acid with liquid acid. Tables are printed for six cells ("12 V"). */
export const leadAcidFlooded = defineBattery({
  chemistry: 'lead-acid-flooded',
  nominalCellV: 2, // six cells are called 12 V
  // [M] a maker's guide for deep-cycle batteries, acid 1.277; its 12.73 V at 100 % is confirmed by a second page.
  // The guide stops at 10 %; the last step is carried on to 0 %.
  ocvPoints: [
    [0, 11.36 / 6],
    [0.1, 11.51 / 6],
    [0.2, 11.66 / 6],
    [0.3, 11.81 / 6],
    [0.4, 11.96 / 6],
    [0.5, 12.1 / 6],
    [0.6, 12.24 / 6],
    [0.7, 12.37 / 6],
    [0.8, 12.5 / 6],
    [0.9, 12.62 / 6],
    [1, 12.73 / 6],
  ],
  otherOcvPoints: [
    // Rule-of-thumb table of a public mailing list, which itself gives about ±15 % of charge
    [
      [0, 11.6 / 6],
      [0.25, 12 / 6],
      [0.5, 12.2 / 6],
      [0.75, 12.4 / 6],
      [1, 12.6 / 6],
    ],
    // A charge controller's manual
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
  chargeEfficiency: 0.87, // [M] energy, one way
  dischargeEfficiency: 0.87, // [M] energy, one way
  selfDischargePerMonth: 0.06, // low-antimony plates at 20 °C: handbook "Energy Unlimited", self-discharge table
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
    'Rest voltage: a maker’s guide for deep-cycle batteries (acid 1.277), mostly from memory',
    'Spread: a public mailing-list table and a charge controller’s manual',
    'Temperature limits: Battery University BU-410, table 1',
    'Self-discharge: handbook “Energy Unlimited”, self-discharge table',
    'Efficiency and capacity against temperature: from memory of data sheets',
  ],
});
