import type { CauseKey, Diagnosis } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { figures, node, site, startMs, verdict } from '../testing.ts';
import { chargingFault } from './charging-fault.ts';

const findingFor = (causes: readonly (readonly [CauseKey, number])[]): string => {
  const power: Diagnosis = {
    question: 'power',
    madeAtMs: startMs,
    causes: causes.map(([cause, probability]) => ({
      cause,
      name: cause,
      probability,
      evidenceFor: ['so'],
      evidenceAgainst: [],
      settledBy: 'a look',
    })),
  };
  return chargingFault.evaluate({
    nowMs: startMs,
    site,
    node,
    verdict: verdict('up'),
    figures: figures({ badDays: 2, goodDays: 0 }),
    power,
  }).kind;
};

// Row 10 of the table: quiet when it is night, full, blocked by temperature, or snow is probable.
describe('a panel that gives nearly nothing on two days', () => {
  it('is a fault, where something electrical explains it', () => {
    expect(findingFor([['charger', 0.8]])).toBe('holds');
    expect(
      findingFor([
        ['charger', 0.75],
        ['snow', 0.2],
      ]),
    ).toBe('holds');
  });

  it('calls nobody while snow may as well lie on it', () => {
    expect(
      findingFor([
        ['charger', 0.45],
        ['snow', 0.42],
      ]),
    ).toBe('undecided');
    expect(findingFor([['snow', 0.9]])).toBe('quiet');
  });
});
