import { expect, it } from 'vitest';
import { alertFixture } from '../fleet/fixtures.ts';
import { alertChanged } from './alert-changed.ts';

const alert = alertFixture({});

it.each([
  ['taken', { state: 'taken', takenBy: 'Ash Fell' }],
  ['handed over', { handed: { to: 'Wren Halloway', says: 'Handed to Wren Halloway.' } }],
  [
    'paused',
    { state: 'paused', paused: { by: 'Ash Fell', until: '2026-12-01T07:00:00Z', why: 'Frost.' } },
  ],
] as const)('shows that it was %s', (_, step) => {
  expect(alertChanged(alert, alertFixture(step))).toBe(true);
});

it('shows nothing of figures that were told anew', () => {
  expect(alertChanged(alert, alertFixture({ figures: 'Charge 15 % ± 6 points.' }))).toBe(false);
});
