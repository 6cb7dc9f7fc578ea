import { HOUR_MS } from '@duskline/domain';
import { visitCautions } from '../cautions.ts';
import { defineRule, setting } from '../rule.ts';
import { freshValue } from '../rule-facts.ts';

/** Water or heat in the box: corrosion, or fire. */
export const boxClimate = defineRule({
  key: 'box-climate',
  name: 'Water or heat in the box',
  why: 'Corrosion; with heat, fire.',
  who: 'on-call volunteer, within 2 days; today when hot',
  settings: {
    dampPercent: setting(90, '%RH', [60, 100], 'mean of a day above which it is raised'),
    dryPercent: setting(85, '%RH', [50, 99], 'mean below which it is over'),
    hotC: setting(60, '°C', [40, 80], 'box temperature above which it is raised'),
    coolC: setting(57, '°C', [30, 79], 'box temperature below which it is over'),
  },
  onDelay: { ms: HOUR_MS, runs: 2 },
  offDelay: { ms: 6 * HOUR_MS, runs: 2 },
  evenOffForWork: true,
  evaluate(facts, { dampPercent, dryPercent, hotC, coolC }) {
    const { figures, site, node } = facts;
    const boxC = freshValue(facts, 'box_temp');
    const damp = figures?.boxRhDayMeanPercent;
    if (boxC === undefined && damp === undefined) return { kind: 'undecided' };
    const isHot = boxC !== undefined && boxC > hotC;
    const isDamp = damp !== undefined && damp > dampPercent;
    if (!isHot && !isDamp)
      return (boxC ?? 0) < coolC && (damp ?? 0) < dryPercent
        ? { kind: 'clear', why: 'The box is dry and cool.' }
        : { kind: 'undecided' };
    return {
      kind: 'holds',
      priority: isHot ? 'P2' : 'P3',
      text: {
        sentence: isHot
          ? `${site.name}’s box is at ${boxC.toFixed(1)} °C.`
          : `${site.name}’s box is getting wet (${Math.round(damp ?? 0)} %RH).`,
        figures: isHot
          ? `${boxC.toFixed(1)} °C inside.`
          : `${Math.round(damp ?? 0)} %RH inside over a day.`,
        byWhen: isHot ? 'today' : 'within two days',
        todo: isHot
          ? 'Shade and air. Do not open a box with a swollen or hot battery.'
          : 'Seals, glands, desiccant, vent.',
        bring: isHot
          ? 'shade or vent for the box; thermometer'
          : 'seals; drying agent; cable glands',
        cautions: visitCautions(node.power.battery.chemistry),
      },
    };
  },
});
