import { defineBattery } from './define-battery.ts';

/** Lithium iron phosphate against graphite. Its voltage is flat from 20 to 90 %: count charge where you can. */
export const lifepo4 = defineBattery({
  chemistry: 'lifepo4',
  nominalCellV: 3.2, // common practice, no source
  // [M] typical rested cell, makers' charts. Preferred to the published electrode functions, which borrow an anode
  // and stand 0.1–0.25 V too low under 30 %.
  ocvPoints: [
    [0, 2.6],
    [0.05, 3.1],
    [0.1, 3.2],
    [0.2, 3.25],
    [0.3, 3.28],
    [0.4, 3.29],
    [0.5, 3.295],
    [0.6, 3.3],
    [0.7, 3.32],
    [0.8, 3.33],
    [0.9, 3.335],
    [0.99, 3.37],
    [1, 3.45],
  ],
  otherOcvPoints: [
    // Prada et al. 2013 / Afshar et al. 2017, with the anode of Chen et al. 2020
    [
      [0, 2],
      [0.02, 2.46],
      [0.05, 2.7853],
      [0.1, 2.9781],
      [0.15, 3.108],
      [0.2, 3.1685],
      [0.25, 3.1857],
      [0.3, 3.2058],
      [0.35, 3.2324],
      [0.4, 3.2525],
      [0.45, 3.2621],
      [0.5, 3.266],
      [0.55, 3.2678],
      [0.6, 3.2688],
      [0.65, 3.27],
      [0.7, 3.274],
      [0.75, 3.2926],
      [0.8, 3.3097],
      [0.85, 3.3132],
      [0.9, 3.3142],
      [0.95, 3.3164],
      [1, 3.6],
    ],
  ],
  voltageBandRatio: 0.1, // assumption for the two steep ends
  plateau: { fromRatio: 0.2, toRatio: 0.9, bandRatio: 0.3 }, // 0.1–0.2 V per unit of charge, with hysteresis
  cellSpanV: [1.8, 3.9], // common practice, no source
  fullCellV: 3.45, // [M]
  resistanceOhmAh: 0.1, // common practice, no source
  chargeLiftsVoltage: false,
  chargeEfficiency: 0.965, // [M] energy, one way
  dischargeEfficiency: 0.965, // [M] energy, one way
  selfDischargePerMonth: 0.025, // [M] ≤ 3 % a month on data sheets
  selfDischargeAtC: 25,
  // Time: the lithium-ion form stands in. Use: makers claim 1,500–2,000 deep cycles to 15–20 % loss; the middle is taken.
  ageing: {
    calendar: { kind: 'lithium-root-of-time' },
    lossPerCycle: [
      [0, 0],
      [0.85, 0.175 / 1750],
      [1, 0.175 / 1750],
    ],
  },
  // No charge below freezing: lithium plates on the anode, which cannot be undone and can hurt people.
  chargeBands: [{ fromC: 0, toC: 45, ratePerH: 0.5 }], // [M] as lithium-ion; many data sheets allow 55 °C
  dischargeTemperatureC: [-20, 60], // [M]
  taperWidthRatio: 0.15, // assumption: constant-voltage stage from 85 %
  // [M] typical data sheet at 0.2–0.5 C
  capacityPoints: [
    [-20, 0.55],
    [-10, 0.7],
    [0, 0.85],
    [10, 0.95],
    [25, 1],
    [45, 1.02],
  ],
  sources: [
    'Rest voltage: typical rested cell, from memory of makers’ charts',
    'Spread: Prada et al. 2013 and Afshar et al. 2017, electrode functions as carried in PyBaMM (BSD-3)',
    'Temperature limits, efficiency, self-discharge, capacity: from memory of data sheets',
  ],
});
