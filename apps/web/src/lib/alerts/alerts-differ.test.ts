import { expect, it } from 'vitest';
import { alertFixture } from '../fleet/fixtures.ts';
import { alertsDiffer } from './alerts-differ.ts';

const one = alertFixture({ id: '7-1', siteId: 'high-cairn' });
const other = alertFixture({ id: '9-1', siteId: 'tarn-gill' });
const held = [other, one];
const rowOf = (...alerts: (typeof one)[]) => ({ id: 'high-cairn', alerts });

it.each([
  ['nothing new', rowOf(one), false],
  ['a new figure in an alert that is shown', rowOf({ ...one, sentence: 'Otherwise said.' }), false],
  ['another alert', rowOf(one, { ...one, id: '7-2' }), true],
  ['one that is over', rowOf(), true],
  ['one that was replaced', rowOf({ ...one, id: '7-2' }), true],
  ['one that was taken', rowOf({ ...one, state: 'taken', takenBy: 'Ash Fell' }), true],
  [
    'one that was handed on',
    rowOf({ ...one, handed: { to: 'Ash Fell', says: 'Handed on.' } }),
    true,
  ],
  [
    'one whose pause ends otherwise',
    rowOf({ ...one, paused: { by: 'Ash Fell', until: '2026-11-26T07:00:00Z', why: 'snow' } }),
    true,
  ],
])('%s', (_, row, differs) => {
  expect(alertsDiffer(held, row)).toBe(differs);
});
