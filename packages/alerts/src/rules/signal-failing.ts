import { DAY_MS } from '@duskline/domain';
import { defineRule, setting } from '../rule.ts';
import { bringForRule } from '../rounds/bring-for-rule.ts';

/** Signal failing: silence is ahead. */
export const signalFailing = defineRule({
  key: 'signal-failing',
  name: 'Signal failing',
  why: 'Silence ahead.',
  who: 'builder, on the next round',
  settings: {
    fallDb: setting(6, 'dB', [2, 30], 'fall over 14 days at which it is raised'),
    backDb: setting(3, 'dB', [0, 20], 'fall below which it is over'),
    backlogHours: setting(24, 'h', [2, 336], 'backlog at which it is raised'),
  },
  onDelay: { ms: DAY_MS, runs: 2 },
  offDelay: { ms: 7 * DAY_MS, runs: 3 },
  quietUnder: ['shared-link-down', 'not-ours'],
  evaluate(facts, { fallDb, backDb, backlogHours }) {
    const { housekeeping, site } = facts;
    const fall = -(housekeeping?.signalChangeDb ?? NaN);
    const backlog = housekeeping?.backlogHours;
    const fell = fall >= fallDb;
    const late = backlog !== undefined && backlog > backlogHours;
    if (!fell && !late)
      return (Number.isNaN(fall) || fall < backDb) &&
        (backlog === undefined || backlog < backlogHours / 2)
        ? Number.isNaN(fall) && backlog === undefined
          ? { kind: 'undecided' }
          : { kind: 'clear', why: 'Its signal is steady.' }
        : { kind: 'undecided' };
    return {
      kind: 'holds',
      priority: 'P3',
      text: {
        sentence: fell
          ? `${site.name}’s signal fell by ${fall.toFixed(0)} dB in 14 days.`
          : `${site.name}’s link is failing: ${Math.round(backlog ?? 0)} h of readings wait.`,
        figures: [
          ...(fell ? [`It fell by ${fall.toFixed(0)} dB in 14 days.`] : []),
          ...(late ? [`${Math.round(backlog)} h of readings wait to be sent.`] : []),
        ].join(' '),
        byWhen: 'on the next round',
        todo: 'Look at aerial, its plug, and what has grown in front of it.',
        bring: bringForRule('signal-failing', facts),
        cautions: [],
      },
    };
  },
});
