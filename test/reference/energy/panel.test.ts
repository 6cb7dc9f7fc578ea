import { cellTemperatureC, panelDcW } from '@duskline/energy';
import { describe, it } from 'vitest';
import { readCases } from './read-cases.ts';
import { expectAllWithin } from './worst-case.ts';

// Source: Faiman 2008 by pvlib-python, see cell-temperature.json.
describe('the temperature of the cells', () => {
  it('matches the reference', () => {
    expectAllWithin(
      readCases<{ poaWm2: number; airC: number; windMs: number; cellC: number }>(
        'cell-temperature',
        60,
      ),
      (row) => cellTemperatureC(row) - row.cellC,
      { tolerance: 0.01, count: 60 }, // same equation
    );
  });
});

// Source: Dobos 2014, NREL/TP-6A20-62641, by pvlib-python, see panel-dc.json.
describe('the power of a panel', () => {
  it('matches the reference', () => {
    expectAllWithin(
      readCases<{
        poaWm2: number;
        cellC: number;
        ratedW: number;
        gammaPerK: number;
        dcW: number;
      }>('panel-dc', 162),
      (row) => panelDcW(row) - row.dcW,
      { tolerance: 0.001, count: 162 }, // same equation
    );
  });
});
