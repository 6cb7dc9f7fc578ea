import { defineBattery } from './define-battery.ts';

/** Nickel–metal hydride. Voltage is a poor witness except near the ends: count charge where you can. */
export const nimh = defineBattery({
  chemistry: 'nimh',
  nominalCellV: 1.2, // common practice, no source
  // [M] typical rested cell; the charge branch stands 50–80 mV higher
  ocvPoints: [
    [0, 1.15],
    [0.1, 1.25],
    [0.3, 1.29],
    [0.5, 1.31],
    [0.7, 1.33],
    [0.9, 1.36],
    [1, 1.4],
  ],
  otherOcvPoints: [],
  voltageBandRatio: 0.15, // assumption for the two ends
  plateau: { fromRatio: 0.1, toRatio: 0.9, bandRatio: 0.4 }, // 50–80 mV of hysteresis over 0.14 V
  cellSpanV: [0.8, 1.7], // common practice, no source
  fullCellV: 1.45, // [M]
  resistanceOhmAh: 0.06, // common practice, no source
  chargeLiftsVoltage: true,
  chargeEfficiency: 0.82, // [M] energy, one way
  dischargeEfficiency: 0.82, // [M] energy, one way
  selfDischargePerMonth: 0.2, // [M] ordinary cells, Battery University BU-802b; low-loss types 1–2 %
  selfDischargeAtC: 20,
  // Common practice, no source: a fifth lost in five years at 25 °C, or in 500 deep cycles.
  ageing: {
    calendar: { kind: 'even', lossPerYearAt25C: 0.04 },
    lossPerCycle: [
      [0, 0],
      [1, 0.2 / 500],
    ],
  },
  // Battery University BU-410, table 1 and its advice for cold
  chargeBands: [
    { fromC: -18, toC: 0, ratePerH: 0.1 },
    { fromC: 0, toC: 5, ratePerH: 0.3 },
    { fromC: 5, toC: 45, ratePerH: 0.5 },
  ],
  dischargeTemperatureC: [-20, 65], // Battery University BU-410, table 1
  taperWidthRatio: 0.1, // assumption: charge acceptance falls near full
  // [M] typical data sheet at 0.2 C
  capacityPoints: [
    [-20, 0.6],
    [0, 0.9],
    [20, 1],
    [40, 0.95],
  ],
  sources: [
    'Rest voltage, efficiency, self-discharge, capacity: from memory of data sheets and Battery University BU-802b',
    'Temperature limits: Battery University BU-410, table 1',
  ],
});
