import { sayDuration } from '@duskline/domain';
import { quietUnlessHeard } from '../heard-state.ts';
import { defineRule, setting } from '../rule.ts';
import { bringForRule } from '../rounds/bring-for-rule.ts';

/** Clock wrong: its times are off, or it has no valid source. The server re-dates what it can. */
export const clockWrong = defineRule({
  key: 'clock-wrong',
  name: 'Clock wrong',
  why: 'Data are mis-dated.',
  who: 'analyst, within a day',
  settings: { offsetSeconds: setting(60, 's', [5, 3600], 'offset above which it is raised') },
  onDelay: { ms: 0, runs: 2 },
  offDelay: { ms: 0, runs: 2 },
  evidenceAtMs: ({ lastHeardAtMs }) => lastHeardAtMs,
  evaluate(facts, { offsetSeconds }) {
    const quiet = quietUnlessHeard(facts);
    if (quiet !== undefined) return { kind: 'undecided' };
    const { housekeeping, site } = facts;
    if (housekeeping?.sendsRelativeTimes === true)
      return { kind: 'quiet', why: 'It sends relative times by design.' };
    const offsetS = housekeeping?.clockOffsetS;
    const none = housekeeping?.clockSource === 'none';
    if (offsetS === undefined && housekeeping?.clockSource === undefined)
      return { kind: 'undecided' };
    if (Math.abs(offsetS ?? 0) <= offsetSeconds && !none)
      return { kind: 'clear', why: 'Its clock is right.' };
    const off = `${sayDuration(Math.abs(offsetS ?? 0) * 1000)} ${(offsetS ?? 0) > 0 ? 'ahead' : 'behind'}`;
    const figures = none
      ? 'It has no valid source of time since it started.'
      : `It is ${off} of the time of receipt.`;
    return {
      kind: 'holds',
      priority: 'P3',
      text: {
        sentence: none
          ? `${site.name}’s clock has no valid time.`
          : `${site.name}’s clock is ${off}.`,
        figures: `${figures} Its readings are dated anew by their receipt where its uptime allows, and marked.`,
        byWhen: 'within a day',
        todo: 'Set the clock over the network; on the next visit change the clock’s cell.',
        bring: bringForRule('clock-wrong', facts),
        cautions: [],
      },
    };
  },
});
