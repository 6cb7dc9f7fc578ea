import { HOUR_MS, sayMoment } from '@duskline/domain';
import { defineRule, setting } from '../rule.ts';

/** Settings not in force: asked for, heard from since, and still not applied. */
export const settingsNotInForce = defineRule({
  key: 'settings-not-in-force',
  name: 'Settings not in force',
  why: 'Thrift saves nothing.',
  who: 'coordinator, within 2 days',
  settings: { afterHours: setting(48, 'h', [1, 336], 'hours of contact after the request') },
  onDelay: { ms: 0, runs: 1 },
  offDelay: { ms: 0, runs: 1 },
  evaluate({ housekeeping, site, nowMs, verdict }, { afterHours }) {
    const request = housekeeping?.settingsRequest;
    if (request === undefined) return { kind: 'clear', why: 'No settings are asked for.' };
    if (request.inForce) return { kind: 'clear', why: 'They are in force.' };
    if (verdict.state !== 'up' && verdict.state !== 'low') return { kind: 'undecided' };
    if (
      request.firstContactAtMs === undefined ||
      nowMs - request.firstContactAtMs < afterHours * HOUR_MS
    )
      return { kind: 'undecided' };
    return {
      kind: 'holds',
      priority: 'P3',
      text: {
        sentence: `${site.name} has not taken its settings.`,
        figures: `${request.says}, asked for ${sayMoment(request.requestedAtMs, site.timeZone)}; it was heard for ${afterHours} h since.`,
        byWhen: 'within two days',
        todo: 'Ask again; look at its software version.',
        bring: 'nothing: this is done from home',
        cautions: [],
      },
    };
  },
});
