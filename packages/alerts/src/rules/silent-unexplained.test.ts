import { MINUTE_MS, type AlertText } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { evaluateRules } from '../evaluate-rules.ts';
import { charge, node, site, startMs, verdict, type Given } from '../testing.ts';
import { rules } from './index.ts';

function textOf(given: Given): AlertText | undefined {
  const run = evaluateRules(
    rules,
    { nowMs: startMs, site, node, verdict: verdict('silent-unexplained'), ...given },
    { open: [], memory: [{ rule: 'silent-unexplained', holdingSinceMs: startMs - MINUTE_MS }] },
  );
  const opened = run.changes.find((change) => change.kind === 'open');
  return opened?.kind === 'open' ? opened.text : undefined;
}

describe('what to do about a silence that nothing explains', () => {
  it('asks the reader for nothing that is known', () => {
    const text = textOf({ charge: charge(0.89), housekeeping: { signalChangeDb: -1 } });
    expect(text?.todo).toBe('Visit: board, card, power, aerial. Charge and signal were good.');
    expect(text?.figures).toContain('charge then 89 %. Its signal had not been falling.');
  });

  it('says of one thing alone that it was good', () => {
    expect(textOf({ charge: charge(0.89) })?.todo).toMatch(/ aerial\. Charge was good before\.$/);
    expect(textOf({ housekeeping: { signalChangeDb: 0 } })?.todo).toMatch(
      / aerial\. Signal was good before\.$/,
    );
  });

  it('waits a bright day only where the signal had been falling', () => {
    const text = textOf({ charge: charge(0.89), housekeeping: { signalChangeDb: -9 } });
    expect(text?.todo).toMatch(/Its signal fell before: wait one bright day, then visit/);
    expect(text?.figures).toContain('Its signal fell by 9 dB in 14 days.');
  });

  it('claims nothing that is not known', () => {
    expect(textOf({})?.todo).toBe('Visit: board, card, power, aerial.');
  });

  it('calls the land-owner first where somebody wrote down whom to call, and nobody else', () => {
    const owned = { ...site, landOwner: { name: 'Hob Farm', phone: '+44 1632 960210' } };
    expect(textOf({ site: owned })?.todo).toBe(
      'Call the land-owner, then visit: board, card, power, aerial.',
    );
    const falling = { housekeeping: { signalChangeDb: -9 } };
    expect(textOf({ site: owned, ...falling })?.todo).toMatch(/^Call the land-owner\. Its signal/);
    expect(textOf(falling)?.todo).toMatch(/^Its signal fell before/);
  });

  it('is for the first light where none is left, by the clock of the site, and not where people may wait for nothing', () => {
    expect(textOf({})?.byWhen).toBe('today; no need at night');
    const firstLightMs = Date.UTC(2026, 10, 28, 8, 5);
    expect(textOf({ firstLightMs })?.byWhen).toBe('at first light, Sat 28 Nov 08:05 UTC');
    expect(textOf({ firstLightMs, critical: true })?.byWhen).toBe('now: a critical site');
  });
});
