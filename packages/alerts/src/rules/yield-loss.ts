import { DAY_MS, sayPercent } from '@duskline/domain';
import { visitCautions } from '../cautions.ts';
import { quietUnlessHeard } from '../heard-state.ts';
import { defineRule, setting } from '../rule.ts';
import { bringForRule } from '../rounds/bring-for-rule.ts';

/** From here on dirt is taken for the cause. */
const LIKELY = 0.5;

/** Yield loss: for a week the panel has given less than it did, weather taken out. A cheap fix before winter. */
export const yieldLoss = defineRule({
  key: 'yield-loss',
  name: 'Yield loss',
  why: 'A cheap fix before winter.',
  who: 'builder, on the next round',
  settings: {
    raiseBelowPercent: setting(
      80,
      '%',
      [30, 98],
      'share of the usual yield below which it is raised',
    ),
    clearAbovePercent: setting(85, '%', [40, 100], 'share above which it is over'),
    needDays: setting(5, 'days', [2, 14], 'days that could be judged, of the last 14'),
  },
  onDelay: { ms: 7 * DAY_MS, runs: 3 },
  offDelay: { ms: 3 * DAY_MS, runs: 2 },
  evaluate(facts, { raiseBelowPercent, clearAbovePercent, needDays }) {
    const { figures, power, site, node, openAlerts = [] } = facts;
    const quiet = quietUnlessHeard(facts);
    if (quiet !== undefined) return { kind: 'undecided' };
    if (figures?.yieldChange === undefined || figures.yieldDays < needDays)
      return { kind: 'undecided' };
    const likely = power?.causes[0];
    if (likely?.cause === 'snow' || openAlerts.some(({ rule }) => rule === 'charging-fault'))
      return { kind: 'undecided' };
    // Dirt comes so slowly that what is usual slides with it: where it looks like dirt the clean panel is the measure.
    const isSlow = likely?.cause === 'soiling' && likely.probability >= LIKELY;
    const left = isSlow
      ? Math.min(figures.yieldChange, figures.yieldAgainstBest ?? Infinity)
      : figures.yieldChange;
    if (left > clearAbovePercent / 100)
      return { kind: 'clear', why: `Its yield is back at ${sayPercent(left)} of the usual.` };
    if (left >= raiseBelowPercent / 100) return { kind: 'undecided' };
    return {
      kind: 'holds',
      priority: 'P3',
      text: {
        sentence: `${site.name}’s panel gives ${sayPercent(left)} of ${left < figures.yieldChange ? 'what it gave clean' : 'its usual'}${likely === undefined || likely.cause === 'nothing-wrong' ? '' : `: likely ${likely.name}`}.`,
        figures:
          `${sayPercent(left)} of its ${left < figures.yieldChange ? 'yield when clean' : 'usual yield'}, weather taken out. ${
            likely?.evidenceFor
              .slice(0, 2)
              .map((line) => `${line}.`)
              .join(' ') ?? ''
          }`.trim(),
        byWhen: 'on the next round',
        todo: 'Clean it, cut growth with the owner’s leave, check the tilt.',
        bring: bringForRule('yield-loss', facts),
        cautions: visitCautions(node.power.battery.chemistry),
      },
    };
  },
});
