import { expect, it } from 'vitest';
import { everyDay } from './every-day.ts';

it('puts an empty day wherever one is missing, and leaves the others', () => {
  const day = (date: number) => ({
    dayStart: `2026-11-${date}T00:11:00.000Z`,
    harvestWh: 20,
    loadWh: 18,
    hoursHeard: 24,
  });
  const filled = everyDay([day(10), day(13), day(14)]);
  expect(filled.map(({ dayStart }) => dayStart.slice(8, 10))).toEqual([
    '10',
    '11',
    '12',
    '13',
    '14',
  ]);
  expect(filled[1]).toMatchObject({ harvestWh: null, loadWh: null, hoursHeard: 0 });
  expect(everyDay([])).toEqual([]);
});
