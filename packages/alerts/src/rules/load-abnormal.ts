import { HOUR_MS } from '@duskline/domain';
import { quietUnlessHeard } from '../heard-state.ts';
import { defineRule, setting } from '../rule.ts';

/** Load abnormal: stuck awake, or a part of the load dead. Halves the reserve. */
export const loadAbnormal = defineRule({
  key: 'load-abnormal',
  name: 'Load abnormal',
  why: 'Halves the reserve, or a sensor is dead.',
  who: 'on-call volunteer, within a day',
  settings: {
    highPercent: setting(130, '%', [105, 400], 'share of the usual load above which it is raised'),
    lowPercent: setting(50, '%', [5, 95], 'share below which it is raised'),
    backPercent: setting(10, '%', [1, 50], 'so far back before it is over'),
    afterSettingsHours: setting(24, 'h', [0, 168], 'quiet so long after a change of settings'),
  },
  onDelay: { ms: 6 * HOUR_MS, runs: 3 },
  offDelay: { ms: 2 * HOUR_MS, runs: 2 },
  evaluate(facts, { highPercent, lowPercent, backPercent, afterSettingsHours }) {
    const quiet = quietUnlessHeard(facts);
    if (quiet !== undefined) return { kind: 'undecided' };
    const { figures, housekeeping, nowMs, site } = facts;
    const request = housekeeping?.settingsRequest;
    if (request !== undefined && nowMs - request.requestedAtMs < afterSettingsHours * HOUR_MS)
      return { kind: 'quiet', why: 'Its settings were changed lately.' };
    if ((housekeeping?.backlogHours ?? 0) > 6)
      return { kind: 'quiet', why: 'It is sending a long backlog.' };
    const percent = (figures?.loadChange ?? NaN) * 100;
    if (Number.isNaN(percent)) return { kind: 'undecided' };
    if (percent <= highPercent && percent >= lowPercent)
      return percent <= highPercent - backPercent && percent >= lowPercent + backPercent
        ? { kind: 'clear', why: `Its load is ${Math.round(percent)} % of the usual.` }
        : { kind: 'undecided' };
    const high = percent > highPercent;
    return {
      kind: 'holds',
      priority: 'P2',
      text: {
        sentence: high
          ? `${site.name} draws ${Math.round(percent)} % of its usual load.`
          : `${site.name} draws only ${Math.round(percent)} % of its usual load.`,
        figures: `Load ${figures?.recentLoadW?.toFixed(2)} W, usually ${figures?.usualLoadW?.toFixed(2)} W (${Math.round(percent)} %).`,
        byWhen: 'within a day',
        todo: high
          ? 'Restart it once from home; else go back to the software before. Compare nodes of its version.'
          : 'Something is off: see which sensor or camera has gone quiet.',
        bring: 'nothing yet',
        cautions: [],
      },
    };
  },
});
