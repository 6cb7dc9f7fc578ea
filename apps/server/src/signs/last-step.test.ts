import { describe, expect, it } from 'vitest';
import { lastStep } from './last-step.ts';

describe('the step at the end of the panel voltage', () => {
  it('is found though several readings came after it', () => {
    expect(lastStep([17.2, 17.4, 0, 0.1, 0])).toEqual([17.4, 0]);
  });
  it('is the last two readings while there is a voltage', () => {
    expect(lastStep([16, 17.4, 17.1])).toEqual([17.4, 17.1]);
  });
  it('is none where it was gone all along, or nothing is known', () => {
    expect(lastStep([0, 0, 0])).toEqual([0, 0]);
    expect(lastStep([])).toEqual([]);
  });
});
