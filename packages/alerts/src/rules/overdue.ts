import { sayFirstWindow, sayMoment } from '@duskline/domain';
import { visitCautions } from '../cautions.ts';
import { quietWhileAccepted } from '../heard-state.ts';
import { defineRule, setting } from '../rule.ts';
import { bringForRule } from '../rounds/bring-for-rule.ts';

/** Overdue: dark as designed, but its window is over and the sun has shone since. The restart failed, or the harvest is gone. */
export const overdue = defineRule({
  key: 'overdue',
  name: 'Overdue',
  why: 'The restart failed, or the harvest is gone.',
  who: 'on-call volunteer or coordinator, within 2 days',
  settings: {
    brightHours: setting(
      4,
      'h',
      [0, 48],
      'bright hours after it counts as overdue (the end of the window it was given as it went dark) before somebody is told',
    ),
  },
  onDelay: { ms: 0, runs: 1 },
  offDelay: { ms: 0, runs: 1 },
  quietUnder: ['shared-link-down', 'not-ours'],
  evaluate(facts, { brightHours }) {
    const { verdict, site, node, brightHoursOverdue, power, firstWindow } = facts;
    if (verdict.state === 'up' || verdict.state === 'low')
      return { kind: 'clear', why: 'It is back.' };
    const quiet = quietWhileAccepted(facts);
    if (quiet !== undefined) return quiet;
    if (verdict.state !== 'overdue') return { kind: 'undecided' };
    if (brightHoursOverdue !== undefined && brightHoursOverdue < brightHours)
      return { kind: 'undecided' };
    // Snow on the panel lengthens the window; the event says so.
    if (power?.causes[0]?.cause === 'snow') return { kind: 'undecided' };
    return {
      kind: 'holds',
      priority: 'P2',
      text: {
        sentence: `${site.name} should have been back by now.`,
        figures:
          firstWindow === undefined
            ? `${verdict.cause} Overdue since ${sayMoment(verdict.sinceMs, site.timeZone)}.`
            : `${verdict.cause} ${sayFirstWindow(firstWindow, site.timeZone, facts.toldOverdueAtMs)}.`,
        byWhen: 'within two days',
        todo: 'Compare with neighbours of the same weather. Then visit: battery voltage, charger, connectors, board.',
        bring: bringForRule('overdue', facts),
        cautions: visitCautions(node.power.battery.chemistry),
      },
    };
  },
});
