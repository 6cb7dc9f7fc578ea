import { DAY_MS, sayPercent } from '@duskline/domain';
import { visitCautions } from '../cautions.ts';
import { defineRule, setting } from '../rule.ts';
import { bringForRule } from '../rounds/bring-for-rule.ts';

/** Battery ageing: holds less than it should, seen in two deep cycles, or its resistance doubled. */
export const batteryAgeing = defineRule({
  key: 'battery-ageing',
  name: 'Battery ageing',
  why: 'Plan its replacement before winter.',
  who: 'coordinator, within a month',
  settings: {
    capacityPercent: setting(
      80,
      '%',
      [30, 95],
      'share of the rated capacity below which it is raised',
    ),
    resistanceTimes: setting(
      2,
      'times',
      [1.2, 5],
      'resistance against a new one at which it is raised',
    ),
    cycles: setting(2, 'cycles', [1, 10], 'deep cycles that must say so'),
    backPoints: setting(5, 'points', [1, 20], 'so far back before it is over'),
  },
  onDelay: { ms: DAY_MS, runs: 2 },
  offDelay: { ms: DAY_MS, runs: 2 },
  evaluate(facts, { capacityPercent, resistanceTimes, cycles, backPoints }) {
    const { figures, site, node } = facts;
    const capacity = figures?.capacityShare;
    const resistance = figures?.resistanceShare;
    const enough = (figures?.capacityCycles ?? 0) >= cycles;
    const weak = capacity !== undefined && enough && capacity * 100 < capacityPercent;
    const stiff = resistance !== undefined && resistance >= resistanceTimes;
    if (!weak && !stiff)
      return capacity !== undefined && capacity * 100 >= capacityPercent + backPoints
        ? { kind: 'clear', why: `It holds ${sayPercent(capacity)} of its rated capacity.` }
        : { kind: 'undecided' };
    const says = [
      ...(weak
        ? [
            `It holds ${sayPercent(capacity)} of its rated ${Math.round(node.power.battery.ratedWh)} Wh, from ${figures?.capacityCycles} deep cycles.`,
          ]
        : []),
      ...(stiff
        ? [`Its inner resistance is ${resistance.toFixed(1)} times that of a new one.`]
        : []),
    ];
    return {
      kind: 'holds',
      priority: 'P3',
      text: {
        sentence: weak
          ? `${site.name}’s battery has aged: it holds ${sayPercent(capacity)} of its rating.`
          : `${site.name}’s battery has aged: ${resistance?.toFixed(1)} times the resistance of new.`,
        figures: says.join(' '),
        byWhen: 'within a month, before winter',
        todo: 'Order one of its kind, change it on a round, recycle the old.',
        bring: bringForRule('battery-ageing', facts),
        cautions: visitCautions(node.power.battery.chemistry),
      },
    };
  },
});
