import { HOUR_MS, MINUTE_MS, sayPercent } from '@duskline/domain';
import { visitCautions } from '../cautions.ts';
import type { Rule } from '../rule.ts';

/** Points above the shut-down level (trade table row 1; our choice, to become a setting). */
const RAISE_ABOVE = 0.1;
const CLEAR_ABOVE = 0.15;
/** Nothing is raised from readings older than this. */
const FRESH_MS = 2 * HOUR_MS;

/** Charge low now: the lower end of the band is within ten points of the shut-down level. The last chance to save load. */
export const chargeLow: Rule = {
  key: 'charge-low',
  name: 'Charge low now',
  onDelay: { ms: 30 * MINUTE_MS, runs: 1 },
  offDelay: { ms: 60 * MINUTE_MS, runs: 1 },
  evaluate({ nowMs, site, node, verdict, charge }) {
    if (verdict.state !== 'up' && verdict.state !== 'low')
      return { kind: 'quiet', why: `The node is ${verdict.state.replaceAll('-', ' ')}.` };
    if (charge === undefined || nowMs - charge.observedAtMs > FRESH_MS)
      return { kind: 'undecided' };
    const level = node.power.shutDownRatio;
    if (charge.lowRatio >= level + CLEAR_ABOVE)
      return { kind: 'clear', why: `Charge is back at ${sayPercent(charge.ratio)}.` };
    if (charge.lowRatio > level + RAISE_ABOVE) return { kind: 'undecided' };
    const band = Math.max(charge.highRatio - charge.ratio, charge.ratio - charge.lowRatio);
    return {
      kind: 'holds',
      priority: 'P2',
      text: {
        sentence: `${site.name} is nearly empty.`,
        figures: `Charge ${sayPercent(charge.ratio)} ± ${Math.round(band * 100)}; it stops itself at ${sayPercent(level)}.`,
        byWhen: 'today; no need at night',
        todo: 'See whether the panel gives anything in daylight. Log less often if the node takes settings; else plan a visit.',
        bring: `charged ${Math.round(node.power.battery.ratedWh)} Wh battery, meter, cleaning cloth and water`,
        cautions: visitCautions(node.power.battery.chemistry),
      },
    };
  },
};
