import { defineBattery } from './define-battery.ts';

/** Lithium-ion, cobalt oxide against graphite: the usual flat pouch. */
export const liIonLco = defineBattery({
  chemistry: 'li-ion-lco',
  nominalCellV: 3.7, // common practice, no source
  ocvPoints: [
    [0, 3],
    [0.02, 3.3388],
    [0.05, 3.5421],
    [0.1, 3.6396],
    [0.15, 3.6654],
    [0.2, 3.6954],
    [0.25, 3.7168],
    [0.3, 3.7331],
    [0.35, 3.7481],
    [0.4, 3.7622],
    [0.45, 3.7763],
    [0.5, 3.7925],
    [0.55, 3.8122],
    [0.6, 3.8365],
    [0.65, 3.8675],
    [0.7, 3.9089],
    [0.75, 3.9519],
    [0.8, 3.9945],
    [0.85, 4.0409],
    [0.9, 4.0879],
    [0.95, 4.1384],
    [1, 4.2],
  ],
  otherOcvPoints: [],
  voltageBandRatio: 0.07, // ours: ±20 mV between makes over a slope of 0.3 V per unit of charge in the middle
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
    'Rest voltage: Ai et al. 2020, J. Electrochem. Soc. 167:013512 (pouch cell), electrode functions as carried in PyBaMM (BSD-3), balanced for 3.0–4.2 V',
    'Temperature limits: Battery University BU-410, table 1',
    'Capacity against temperature: NREL SSC test inputs (BSD-3)',
  ],
});
