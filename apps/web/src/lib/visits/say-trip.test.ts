import { describe, expect, it } from 'vitest';
import { readPlace, sayDays, sayHours, sayKm } from './say-trip.ts';

const plain = (text: string): string => text.replaceAll('\u00a0', ' ');

describe('words of a trip', () => {
  it.each([
    [0, '0 days'],
    [1, '1 day'],
    [0.96, '1 day'],
    [3.24, '3.2 days'],
    [14, '14 days'],
  ])('%d days', (days, says) => {
    expect(plain(sayDays(days))).toBe(says);
  });

  it.each([
    [0.75, '45 min'],
    [2, '2 h'],
    [2.33, '2 h 20 min'],
    [1.99, '2 h'],
    [0, '5 min'],
  ])('%d hours, no finer than five minutes', (hours, says) => {
    expect(plain(sayHours(hours))).toBe(says);
  });

  it('kilometres, finer where they are few', () => {
    expect([sayKm(4.56), sayKm(45.6)].map(plain)).toEqual(['4.6 km', '46 km']);
  });

  it.each([
    ['54.47, -2.28', '54.47000,-2.28000'],
    ['54.47 −2.28', '54.47000,-2.28000'],
    ['54.47°; -2.28°', '54.47000,-2.28000'],
    ['95, 3', undefined],
    ['home', undefined],
    ['54.47', undefined],
  ])('a place written as %s', (text, place) => {
    expect(readPlace(text)).toBe(place);
  });
});
