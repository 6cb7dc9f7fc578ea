import type { RuntimeRequestJson, SizingRequestJson } from '@duskline/contract';
import { describe, expect, it } from 'vitest';
import { answerSizing } from './answer-sizing.ts';

/** Our demonstration moor. */
const moor: SizingRequestJson = {
  latitudeDeg: 54.71,
  longitudeDeg: -2.31,
  elevationM: 412,
  loadW: 0.8,
  panelW: 20,
  panelTiltDeg: 65,
  panelAzimuthDeg: 180,
  battery: { chemistry: 'lifepo4', ratedWh: 154, seriesCells: 4 },
  charger: 'mppt',
  shutDownRatio: 0.1,
  restartRatio: 0.5,
  offStateDrawW: 0.03,
  reliabilityRatio: 0.98,
  criticality: 'ordinary',
};
const own: RuntimeRequestJson['battery'] = {
  chemistry: 'lifepo4',
  ratedAh: 12,
  seriesCells: 4,
  own: {
    name: 'Bench pack',
    voltagePoints: [
      { chargeRatio: 0, voltageV: 10 },
      { chargeRatio: 1, voltageV: 14 },
    ],
    charge: { minC: 0, maxC: 45 },
    discharge: { minC: -20, maxC: 60 },
  },
};

function sized(request: SizingRequestJson) {
  const answer = answerSizing.size(request);
  if (!answer.ok) throw new Error(JSON.stringify(answer.fault));
  return answer.value;
}

describe('a question of size', () => {
  it('is answered month by month, with where the climate came from', () => {
    const answer = sized(moor);
    expect(answer.months.map(({ month }) => month)).toEqual([
      1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12,
    ]);
    expect(answer.worstMonth).toBe(12);
    expect(answer.climate.clearnessSource).toMatch(/from memory/);
    expect(answer.textbook.autonomyDays).toEqual({ least: 5, most: 7 }); // IEEE 1562, from memory
    expect(answer.sentence).toMatch(/December.*dark about .* days/);
    expect(answer.notes.join(' ')).toMatch(/never be charged below 0 °C/);
  });

  it('takes the climate it is given, and says so', () => {
    const answer = sized({ ...moor, clearnessByMonth: new Array<number>(12).fill(0.7) });
    expect(answer.climate.clearnessSource).toBe('as given in the question');
    expect(answer.darkDaysPerYear).toBeLessThan(sized(moor).darkDaysPerYear);
  });

  it('warns of lead–acid drawn deep', () => {
    const battery = { chemistry: 'lead-acid-agm', ratedWh: 154, seriesCells: 6 } as const;
    expect(sized({ ...moor, battery }).notes.join(' ')).toMatch(/50 % or more/);
    const shallow = sized({ ...moor, battery, shutDownRatio: 0.5, restartRatio: 0.8 });
    expect(shallow.notes.join(' ')).not.toMatch(/50 % or more/);
  });

  it('is refused with the place and the remedy when the levels cross or there is no energy', () => {
    expect(answerSizing.size({ ...moor, restartRatio: 0.05 })).toMatchObject({
      ok: false,
      fault: [{ pointer: '/restartRatio' }],
    });
    const battery = { chemistry: 'lifepo4', seriesCells: 4 } as const;
    expect(answerSizing.size({ ...moor, battery })).toMatchObject({
      ok: false,
      fault: [{ pointer: '/battery/ratedWh' }],
    });
  });
});

describe('a question of runtime', () => {
  it('is answered for one’s own battery: 12 Ah at a mean of 12 V are 144 Wh', () => {
    const answer = answerSizing.runtime({ battery: own, loadW: 1, shutDownRatio: 0.5 });
    expect(answer).toMatchObject({ ok: true });
    if (answer.ok) expect(answer.value.usableWh).toBeCloseTo(72, 9);
  });

  it('names every fault of one’s own battery with its place', () => {
    const answer = answerSizing.runtime({
      battery: {
        ...own,
        own: {
          ...own.own!,
          voltagePoints: [
            { chargeRatio: 0, voltageV: 13 },
            { chargeRatio: 1, voltageV: 12 },
          ],
          charge: { minC: -10, maxC: 45 },
        },
      },
      loadW: 1,
      shutDownRatio: 0.1,
    });
    expect(answer.ok ? [] : answer.fault.map(({ pointer }) => pointer)).toEqual([
      '/battery/own/voltagePoints/1',
      '/battery/own/charge',
    ]);
  });

  it('is refused when the node would be dark from the start', () => {
    const answer = answerSizing.runtime({
      battery: own,
      loadW: 1,
      fromRatio: 0.1,
      shutDownRatio: 0.2,
    });
    expect(answer).toMatchObject({ ok: false, fault: [{ pointer: '/fromRatio' }] });
  });
});
