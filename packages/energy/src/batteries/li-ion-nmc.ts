import { defineBattery } from './define-battery.ts';

/** Lithium-ion, nickel–manganese–cobalt oxide against graphite: the usual round cell. */
export const liIonNmc = defineBattery({
  chemistry: 'li-ion-nmc',
  nominalCellV: 3.6, // common practice, no source
  ocvPoints: [
    [0, 2.5],
    [0.02, 2.8625],
    [0.05, 3.1094],
    [0.1, 3.2959],
    [0.15, 3.4339],
    [0.2, 3.4852],
    [0.25, 3.5286],
    [0.3, 3.5814],
    [0.35, 3.629],
    [0.4, 3.667],
    [0.45, 3.7054],
    [0.5, 3.7509],
    [0.55, 3.7983],
    [0.6, 3.8406],
    [0.65, 3.8896],
    [0.7, 3.9479],
    [0.75, 3.9943],
    [0.8, 4.0421],
    [0.85, 4.0809],
    [0.9, 4.0967],
    [0.95, 4.1236],
    [1, 4.2],
  ],
  otherOcvPoints: [
    // Mohtat et al. 2020, J. Electrochem. Soc. 167:110561 [M: volume], NMC532
    [
      [0, 2.8],
      [0.02, 3.2852],
      [0.05, 3.462],
      [0.1, 3.5107],
      [0.15, 3.5395],
      [0.2, 3.5847],
      [0.25, 3.6202],
      [0.3, 3.6389],
      [0.35, 3.6538],
      [0.4, 3.671],
      [0.45, 3.6914],
      [0.5, 3.7155],
      [0.55, 3.7446],
      [0.6, 3.7968],
      [0.65, 3.8399],
      [0.7, 3.8797],
      [0.75, 3.9232],
      [0.8, 3.9705],
      [0.85, 4.0216],
      [0.9, 4.0767],
      [0.95, 4.136],
      [1, 4.2],
    ],
  ],
  voltageBandRatio: 0.05, // research note of this project: ±5 % between like makes; unlike makes come in by otherOcvPoints
  cellSpanV: [2.0, 4.35], // common practice, no source
  fullCellV: 4.15, // [M] constant-voltage stage of a 4.20 V charger
  resistanceOhmAh: 0.12, // common practice, no source: about 45 mΩ for a 2.6 Ah cell, seconds-long load
  chargeLiftsVoltage: false,
  chargeEfficiency: 0.97, // [M] energy, one way
  dischargeEfficiency: 0.97, // [M] energy, one way
  selfDischargePerMonth: 0.02, // [M] 1–2 % a month after the first day, Battery University BU-802b
  selfDischargeAtC: 25,
  // NREL SSC test inputs: 20 % deep, 5000 cycles to 80 %; 80 % deep, 1000 cycles to 80 %; carried on straight to both ends
  ageing: {
    calendar: { kind: 'lithium-root-of-time' },
    lossPerCycle: [
      [0, 0],
      [0.2, 0.2 / 5000],
      [0.8, 0.2 / 1000],
      [1, 0.2 / 1000 + (0.2 / 1000 - 0.2 / 5000) / 3],
    ],
  },
  // No charge below freezing: lithium plates on the anode, which cannot be undone and can hurt people.
  chargeBands: [{ fromC: 0, toC: 45, ratePerH: 0.5 }], // Battery University BU-410, table 1; 0.5 is common practice
  dischargeTemperatureC: [-20, 60], // Battery University BU-410, table 1
  taperWidthRatio: 0.15, // assumption: constant-voltage stage from 85 %
  // NREL System Advisor Model default, test/input_cases/battery_common_data.h in the SSC sources
  capacityPoints: [
    [-10, 0.6],
    [0, 0.8],
    [25, 1],
    [40, 1],
  ],
  sources: [
    'Rest voltage: Chen et al. 2020, J. Electrochem. Soc. 167:080534 (NMC811 against graphite–silicon), electrode functions as carried in PyBaMM (BSD-3), balanced for 2.5–4.2 V',
    'Spread: Mohtat et al. 2020 (NMC532 against graphite), likewise',
    'Temperature limits: Battery University BU-410, table 1',
    'Capacity against temperature: NREL SSC test inputs (BSD-3)',
  ],
});
