import { DAY_MS, sayMoment, sayPercent } from '@duskline/domain';
import { defineRule, setting } from '../rule.ts';

/** Data cap ahead: at this rate the plan is used up before it begins anew. Silence by contract. */
export const dataCap = defineRule({
  key: 'data-cap',
  name: 'Data cap ahead',
  why: 'Silence by contract.',
  who: 'coordinator, within 2 days',
  settings: {
    raiseAtPercent: setting(
      100,
      '%',
      [50, 200],
      'expected share of the plan at which it is raised',
    ),
    clearBelowPercent: setting(85, '%', [30, 150], 'share below which it is over'),
  },
  onDelay: { ms: DAY_MS / 2, runs: 2 },
  offDelay: { ms: DAY_MS / 2, runs: 2 },
  evaluate({ site, housekeeping, nowMs }, { raiseAtPercent, clearBelowPercent }) {
    const data = housekeeping?.data;
    if (data === undefined) return { kind: 'undecided' };
    const share = Math.max(data.expectedBytes, data.usedBytes) / data.capBytes;
    if (share < clearBelowPercent / 100)
      return { kind: 'clear', why: `It will use ${sayPercent(share)} of its plan.` };
    if (share < raiseAtPercent / 100) return { kind: 'undecided' };
    const days = Math.max(0, Math.round((data.renewsAtMs - nowMs) / DAY_MS));
    return {
      kind: 'holds',
      priority: 'P3',
      text: {
        sentence:
          data.usedBytes >= data.capBytes
            ? `${site.name} has used up its data plan.`
            : `${site.name} will use ${sayPercent(share)} of its data plan.`,
        figures: `${(data.usedBytes / 1e6).toFixed(1)} of ${(data.capBytes / 1e6).toFixed(1)} MB used; ${sayPercent(share)} expected by ${sayMoment(data.renewsAtMs, site.timeZone)}, ${days} days on.`,
        byWhen: 'within two days',
        todo: 'Send in packs and compressed, log less often, or top up.',
        bring: 'nothing: this is done from home',
        cautions: [],
      },
    };
  },
});
