import { expect, it } from 'vitest';
import { placeKey, placesBehind, valueInForce } from './rule-places.ts';

const sites = [
  { id: 'tarn-gill', node: 'tarn-gill-1' },
  { id: 'bare-plinth', node: null },
] as unknown as Parameters<typeof placesBehind>[1];
const at = '2026-11-26T09:00:00.000Z';
const set = (scope: 'fleet' | 'site' | 'node', subject: string, value: number | null) => ({
  ...{ scope, subject, value, at, by: 'Ada' },
  ...{ rule: 'charge-low', setting: 'raiseAbovePoints' },
});
const asked = { rule: 'charge-low', setting: 'raiseAbovePoints' };

it('goes from the node to its site to the fleet', () => {
  expect(placesBehind('node:tarn-gill-1', sites).map(placeKey)).toEqual([
    'node:tarn-gill-1',
    'site:tarn-gill',
    'fleet',
  ]);
  expect(placesBehind('site:bare-plinth', sites).map(placeKey)).toEqual([
    'site:bare-plinth',
    'fleet',
  ]);
  expect(placesBehind('site:nowhere', sites).map(placeKey)).toEqual(['fleet']);
});

it('takes the nearest value, and says whether it is the place’s own', () => {
  const places = placesBehind('node:tarn-gill-1', sites);
  const fleet = set('fleet', '', 12);
  const site = set('site', 'tarn-gill', 20);
  expect(valueInForce([], places, asked)).toBeUndefined();
  expect(valueInForce([fleet, site], places, asked)).toMatchObject({ value: 20, isOwn: false });
  expect(valueInForce([fleet, set('node', 'tarn-gill-1', 3)], places, asked)).toMatchObject({
    value: 3,
    isOwn: true,
  });
  // Taken back: what stands behind it counts again.
  expect(valueInForce([fleet, set('site', 'tarn-gill', null)], places, asked)?.value).toBe(12);
  expect(valueInForce([set('site', 'bare-plinth', 9)], places, asked)).toBeUndefined();
});
