import { MINUTE_MS } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { evaluateRules } from '../evaluate-rules.ts';
import { charge, node, site, startMs, verdict, type Given } from '../testing.ts';
import { rules } from './index.ts';

function todoOf(given: Given): string {
  const run = evaluateRules(
    rules,
    { nowMs: startMs, site, node, verdict: verdict('silent-unexplained'), ...given },
    { open: [], memory: [{ rule: 'silent-unexplained', holdingSinceMs: startMs - MINUTE_MS }] },
  );
  const opened = run.changes.find((change) => change.kind === 'open');
  return opened?.kind === 'open' ? opened.text.todo : '';
}

describe('what to do about a silence that nothing explains', () => {
  it('asks the reader for nothing that is known', () => {
    const todo = todoOf({ charge: charge(0.89), housekeeping: { signalChangeDb: -1 } });
    expect(todo).toBe(
      'Call the land-owner. Its charge was 89 %: it did not run dry. Its signal had not been falling, so waiting will not help. Visit: board, card, power cable, aerial.',
    );
  });

  it('waits a bright day only where the signal had been falling', () => {
    expect(todoOf({ charge: charge(0.89), housekeeping: { signalChangeDb: -9 } })).toMatch(
      /Its signal had fallen by 9 dB in 14 days: wait one bright day/,
    );
  });

  it('says what is not known', () => {
    const todo = todoOf({});
    expect(todo).toMatch(/How its signal was is not known/);
    expect(todo).not.toMatch(/charge|\?/);
  });
});
