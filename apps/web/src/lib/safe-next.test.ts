import { expect, it } from 'vitest';
import { safeNext } from './safe-next.ts';

it('leads back to a page of our own and nowhere else', () => {
  expect(safeNext('/sites/tarn-gill?range=7d')).toBe('/sites/tarn-gill?range=7d');
  for (const bad of [
    null,
    '',
    'https://example.org/',
    '//example.org',
    '/\\example.org',
    '/sign-in?next=/',
  ])
    expect(safeNext(bad)).toBe('/');
});
