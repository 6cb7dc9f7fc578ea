import { HOUR_MS } from '@duskline/domain';
import { defineRule, setting } from '../rule.ts';
import { freshValue } from '../rule-facts.ts';

/** First light: it came back after a darkness. Good news, told only to who asked for it. */
export const firstLight = defineRule({
  key: 'first-light',
  name: 'First light',
  group: 'energy',
  why: 'Good news; look whether its backlog is complete.',
  who: 'nobody',
  settings: {
    withinHours: setting(6, 'h', [1, 48], 'so long after a restart it still counts as first light'),
  },
  onDelay: { ms: 0, runs: 1 },
  offDelay: { ms: 0, runs: 1 },
  evaluate(facts, { withinHours }) {
    const { verdict } = facts;
    if (verdict.state !== 'up' && verdict.state !== 'low') return { kind: 'clear', why: '' };
    const uptimeS = freshValue(facts, 'uptime');
    if (uptimeS === undefined) return { kind: 'undecided' };
    const charge = facts.charge?.ratio ?? 0;
    // A return at the restart level is first light; a reboot at any other charge is only a reboot.
    if (uptimeS * 1000 > withinHours * HOUR_MS) return { kind: 'clear', why: '' };
    if (charge < facts.node.power.restartRatio - 0.08) return { kind: 'undecided' };
    return {
      kind: 'record',
      event: 'first-light',
      sentence: `First light: ${facts.site.name} is back with a charge of ${Math.round(charge * 100)} %.`,
    };
  },
});
