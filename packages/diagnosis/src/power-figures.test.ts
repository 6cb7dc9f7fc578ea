import { describe, expect, it } from 'vitest';
import { powerFigures } from './power-figures.ts';
import type { PowerSeen } from './seen-of-power.ts';

const day = (yieldIndex: number | undefined, peer?: number) => ({
  day: 1,
  heardHours: 24,
  openExpectedWh: 50,
  openGotWh: 1,
  fullShare: 0,
  coldHours: 0,
  hotHours: 0,
  flips: 0,
  ...(yieldIndex === undefined ? {} : { yieldIndex }),
  ...(yieldIndex === undefined || peer === undefined ? {} : { relativeYield: yieldIndex / peer }),
});
const figures = (days: PowerSeen['days']) => powerFigures({ days } as PowerSeen);

/** Row 10 of the rationalisation table: at least 30 % of a clear day offered, less than 10 % of it come. */
describe('the figures by which charging is judged', () => {
  it('call a day bad when the others had light and it had next to none', () => {
    expect(figures([day(0.01, 0.5), day(0.02, 0.6), day(0.4, 0.5)])).toMatchObject({
      badDays: 2,
      goodDays: 1,
    });
  });

  it('call no day bad on which the others had next to nothing either', () => {
    expect(figures([day(0.01, 0.15), day(0.01, 0.2)]).badDays).toBe(0);
  });

  it('leave out days on which the battery could take nothing', () => {
    expect(figures([day(undefined), day(undefined), day(0.01, 0.5)])).toMatchObject({
      badDays: 1,
      goodDays: 0,
    });
  });

  it('without other sites call only darkness bad', () => {
    expect(figures([day(0.01), day(0.06), day(0.5)])).toMatchObject({ badDays: 1, goodDays: 1 });
  });
});
