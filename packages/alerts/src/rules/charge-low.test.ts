import type { ChargeMethod, Diagnosis } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { likely, node, site, startMs, verdict } from '../testing.ts';
import { chargeLow } from './charge-low.ts';

const textAt = (
  charge: { ratio: number; lowRatio: number; highRatio: number },
  method: ChargeMethod = 'gauge',
  power?: Diagnosis,
) => {
  const finding = chargeLow.evaluate({
    nowMs: startMs,
    site,
    node,
    verdict: verdict('up'),
    charge: { ...charge, method, observedAtMs: startMs },
    ...(power === undefined ? {} : { power }),
  });
  return finding.kind === 'holds' ? finding.text : undefined;
};

// The node stops itself at 10 %; row 1 of the table: lower band ≤ shut-down level + 10 points.
describe('charge low now', () => {
  it('says how low it is', () => {
    expect(textAt({ ratio: 0.17, lowRatio: 0.11, highRatio: 0.23 })?.sentence).toBe(
      'Thornhow is nearly empty, at 17 %.',
    );
  });

  it.each([
    ['loaded-voltage', 'voltage', 'The voltage under load tells it only roughly.'],
    ['rest-voltage', 'voltage', 'The voltage at rest tells it only roughly.'],
    ['gauge', 'gauge', 'The node’s own gauge tells it only roughly.'],
    ['counted', 'counting', 'Harvest and load are counted, and the count may have drifted.'],
  ] as const)(
    'says of a charge that is only known roughly how far it may be out and why (%s)',
    (method, by, why) => {
      const text = textAt({ ratio: 0.39, lowRatio: 0.07, highRatio: 0.71 }, method);
      expect(text?.sentence).toBe(
        `Thornhow may be nearly empty: 7 to 71 %, told roughly by ${by}.`,
      );
      expect(text?.figures).toBe(
        `Charge 39 % ± 32 points: in eight cases of ten it lies from 7 % to 71 %. ${why} It stops itself at 10 %.`,
      );
    },
  );

  // Trade's table of faults (common practice, no source): a parted plug is mended with a plug, an aged battery with a new one.
  it.each([
    ['connector', 'spare connectors'],
    ['charger', 'fuse'],
    ['battery-aged', 'new battery of the same kind'],
  ] as const)('packs for the cause that is likely (%s)', (cause, part) => {
    const low = { ratio: 0.17, lowRatio: 0.11, highRatio: 0.23 };
    const text = textAt(low, 'gauge', likely(cause));
    expect(text?.todo).toContain('most likely');
    expect(text?.bring).toContain(part);
    // What is read aloud within fifteen seconds, at two and a half words a second (common practice, no source).
    const spoken = [text?.sentence, text?.byWhen, text?.todo].join(' ').split(/\s+/);
    expect(spoken.length).toBeLessThanOrEqual(37);
    expect(textAt(low, 'gauge', likely(cause, 0.4))?.todo).not.toContain('most likely');
    expect(textAt(low, 'gauge', likely('nothing-wrong'))?.todo).not.toContain('most likely');
  });
});
