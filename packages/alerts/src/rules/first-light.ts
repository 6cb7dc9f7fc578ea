import { HOUR_MS } from '@duskline/domain';
import { defineRule, setting } from '../rule.ts';
import { freshValue } from '../rule-facts.ts';

/** First light: it came back after a darkness; on screens in plain words. Good news, told only to who asked for it. */
export const firstLight = defineRule({
  key: 'first-light',
  name: 'Back after a dark time',
  why: 'Good news; look whether its backlog is complete.',
  who: 'nobody',
  settings: {
    withinHours: setting(6, 'h', [1, 48], 'so long after a restart it is still told'),
  },
  onDelay: { ms: 0, runs: 1 },
  offDelay: { ms: 0, runs: 1 },
  evaluate(facts, { withinHours }) {
    const { verdict, housekeeping, nowMs } = facts;
    if (verdict.state !== 'up' && verdict.state !== 'low') return { kind: 'clear', why: '' };
    // Without a darkness before it a start is only a start.
    const dark = housekeeping?.darkness;
    const withinMs = withinHours * HOUR_MS;
    if (dark === undefined || nowMs - (dark.endedAtMs ?? nowMs) > withinMs)
      return { kind: 'clear', why: '' };
    // It ran all the while: what looked like darkness was a link.
    const uptimeS = freshValue(facts, 'uptime');
    if (uptimeS !== undefined && nowMs - uptimeS * 1000 < dark.fromMs)
      return { kind: 'clear', why: '' };
    const charge = facts.charge?.ratio ?? 0;
    return {
      kind: 'record',
      event: 'first-light',
      sentence: `${facts.site.name} sends again after a dark time, with a charge of ${Math.round(charge * 100)} %.`,
    };
  },
});
