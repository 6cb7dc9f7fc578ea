import { describe, expect, it } from 'vitest';
import { needFixture } from './fixtures.ts';
import { roundReason } from './round-reason.ts';

const stop = (purpose: string) => needFixture({ purpose });

describe('why a round is driven', () => {
  it('is what its stops are for', () => {
    const one = 'High Cairn will likely stop. Clean the panel. Bring: water.';
    expect(roundReason([stop(one)])).toBe(one);
    expect(roundReason([stop('A is low. Look.'), stop('B is silent.')])).toBe(
      'A is low. Look. B is silent.',
    );
  });

  it('leaves no stop out for the length of another, and ends with a whole sentence', () => {
    const long = `A is low. ${'x'.repeat(280)}.`;
    expect(roundReason([stop(long), stop('B is silent. Look.')])).toBe(
      'A is low. B is silent. Look.',
    );
    const six = Array.from({ length: 6 }, (_, i) => stop(`Site ${i} is low. ${'y'.repeat(40)}.`));
    expect(roundReason(six).length).toBeLessThanOrEqual(300);
  });

  it('is at least something where nothing is known', () => {
    expect(roundReason([stop('')])).toBe('The round of latest safe dates.');
  });
});
