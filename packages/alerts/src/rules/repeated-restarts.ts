import { HOUR_MS, sayPercent } from '@duskline/domain';
import { visitCautions } from '../cautions.ts';
import { defineRule, setting } from '../rule.ts';
import { bringForRule } from '../rounds/bring-for-rule.ts';

/** Repeated restarts: levels too close, a weak battery, or brown-outs. */
export const repeatedRestarts = defineRule({
  key: 'repeated-restarts',
  name: 'Repeated restarts',
  why: 'Levels too close, a weak battery, or brown-outs; a card does not survive many.',
  who: 'on-call volunteer, within a day',
  settings: {
    boots: setting(3, 'boots', [2, 20], 'boots in 24 h at which it is raised'),
    shortDarks: setting(
      2,
      'times',
      [1, 10],
      'stops and returns less than 6 h apart at which it is raised',
    ),
  },
  onDelay: { ms: 0, runs: 1 },
  offDelay: { ms: 48 * HOUR_MS, runs: 2 },
  evaluate(facts, { boots, shortDarks }) {
    const { housekeeping, site, node, visitUnderWay } = facts;
    if (visitUnderWay === true) return { kind: 'quiet', why: 'A visit is under way.' };
    const count = housekeeping?.bootsIn24h;
    const pairs = housekeeping?.shortDarks ?? 0;
    if (count === undefined) return { kind: 'undecided' };
    if (count < boots && pairs < shortDarks)
      return { kind: 'clear', why: 'It restarts no longer.' };
    const { restartRatio, shutDownRatio } = node.power;
    return {
      kind: 'holds',
      priority: 'P2',
      text: {
        sentence:
          count < boots
            ? `${site.name} keeps stopping and starting: ${pairs} times in 2 days.`
            : `${site.name} keeps restarting: ${count} times in 24 h.`,
        figures: `${count} starts in 24 h, ${pairs} stops and returns less than 6 h apart; shut-down level ${sayPercent(shutDownRatio)}, restart level ${sayPercent(restartRatio)}.`,
        byWhen: 'within a day',
        todo: 'Raise the restart level, log less often, look at its under-voltage count; then the battery.',
        bring: bringForRule('repeated-restarts', facts),
        cautions: visitCautions(node.power.battery.chemistry),
      },
    };
  },
});
