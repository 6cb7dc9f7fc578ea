import { describe, expect, it } from 'vitest';
import { node, site, startMs, verdict } from '../testing.ts';
import { chargeLow } from './charge-low.ts';

const sentenceAt = (charge: { ratio: number; lowRatio: number; highRatio: number }) => {
  const finding = chargeLow.evaluate({
    nowMs: startMs,
    site,
    node,
    verdict: verdict('up'),
    charge: { ...charge, method: 'gauge', observedAtMs: startMs },
  });
  return finding.kind === 'holds' ? finding.text.sentence : finding.kind;
};

// The node stops itself at 10 %; row 1 of the table: lower band ≤ shut-down level + 10 points.
describe('charge low now', () => {
  it('says how low it is', () => {
    expect(sentenceAt({ ratio: 0.17, lowRatio: 0.11, highRatio: 0.23 })).toBe(
      'Thornhow is nearly empty, at 17 %.',
    );
  });

  it('does not call a charge low that is only known roughly', () => {
    expect(sentenceAt({ ratio: 0.39, lowRatio: 0.07, highRatio: 0.71 })).toBe(
      'Thornhow may be nearly empty, at 7 % to 71 %.',
    );
  });
});
