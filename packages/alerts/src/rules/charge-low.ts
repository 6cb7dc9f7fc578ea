import {
  HOUR_MS,
  MINUTE_MS,
  sayPercent,
  type ChargeEstimate,
  type ChargeMethod,
} from '@duskline/domain';
import { visitCautions } from '../cautions.ts';
import { isDarkForFault, quietUnlessHeard, quietWhileAccepted } from '../heard-state.ts';
import { defineRule, setting } from '../rule.ts';
import { FRESH_MS } from '../rule-facts.ts';
import { visitForCause } from './visit-for-cause.ts';
import { today } from '../today.ts';

/** Where the restart level lies close to the shut-down level a node comes back low (our choice). */
const JUST_BACK_MS = 6 * HOUR_MS;

/** What tells a charge that is only known roughly: in the call, and in full on the page. */
const toldBy: Readonly<Record<ChargeMethod, { readonly by: string; readonly why: string }>> = {
  gauge: { by: 'gauge', why: 'The node’s own gauge tells it only roughly.' },
  'rest-voltage': { by: 'voltage', why: 'The voltage at rest tells it only roughly.' },
  'loaded-voltage': { by: 'voltage', why: 'The voltage under load tells it only roughly.' },
  counted: { by: 'counting', why: 'Harvest and load are counted, and the count may have drifted.' },
};

const sayRoughly = ({ lowRatio, highRatio, method }: ChargeEstimate): string =>
  `${Math.round(lowRatio * 100)} to ${sayPercent(highRatio)}, told roughly by ${toldBy[method].by}`;

function sayBand({ ratio, lowRatio, highRatio, method }: ChargeEstimate, isSure: boolean): string {
  const points = Math.round(Math.max(highRatio - ratio, ratio - lowRatio) * 100);
  const charge = `Charge ${sayPercent(ratio)} ± ${points} points`;
  return isSure
    ? `${charge}.`
    : `${charge}: in eight cases of ten it lies from ${sayPercent(lowRatio)} to ${sayPercent(highRatio)}. ${toldBy[method].why}`;
}

/** Charge low now: the lower end of the band is within ten points of the shut-down level. The last chance to save load. */
export const chargeLow = defineRule({
  key: 'charge-low',
  name: 'Charge low now',
  why: 'The last chance to save load.',
  who: 'on-call volunteer, today',
  settings: {
    raiseAbovePoints: setting(
      10,
      'points',
      [0, 50],
      'points above the shut-down level at which it is raised',
    ),
    clearAbovePoints: setting(
      15,
      'points',
      [0, 60],
      'points above the shut-down level at which it is over',
    ),
  },
  onDelay: { ms: 30 * MINUTE_MS, runs: 1 },
  offDelay: { ms: 60 * MINUTE_MS, runs: 1 },
  evaluate(facts, { raiseAbovePoints, clearAbovePoints }) {
    const accepted = quietWhileAccepted(facts);
    if (accepted !== undefined) return accepted;
    if (isDarkForFault(facts)) return { kind: 'undecided' };
    const quiet = quietUnlessHeard(facts);
    if (quiet !== undefined) return quiet;
    const { nowMs, site, node, charge, openAlerts = [], housekeeping } = facts;
    // It has just come back, by its own design and with its restart level: good news, and no call.
    const dark = housekeeping?.darkness;
    if (dark !== undefined && nowMs - (dark.endedAtMs ?? nowMs) < JUST_BACK_MS)
      return { kind: 'undecided' };
    if (charge === undefined || nowMs - charge.observedAtMs > FRESH_MS)
      return { kind: 'undecided' };
    const level = node.power.shutDownRatio;
    if (charge.lowRatio >= level + clearAbovePoints / 100)
      return { kind: 'clear', why: `Charge is back at ${sayPercent(charge.ratio)}.` };
    if (charge.lowRatio > level + raiseAbovePoints / 100) return { kind: 'undecided' };
    // Somebody has its forecast in hand: this would be the same call again.
    if (openAlerts.some(({ rule, state }) => rule === 'forecast-low' && state === 'taken'))
      return { kind: 'undecided' };
    // Known but roughly, it may as well be far from empty, and the sentence must not say otherwise.
    const isSure = charge.ratio <= level + raiseAbovePoints / 100;
    return {
      kind: 'holds',
      priority: 'P2',
      text: {
        sentence: isSure
          ? `${site.name} is nearly empty, at ${sayPercent(charge.ratio)}.`
          : `${site.name} may be nearly empty: ${sayRoughly(charge)}.`,
        figures: `${sayBand(charge, isSure)} It stops itself at ${sayPercent(level)}.`,
        byWhen: today(facts),
        todo: 'See what comes in. Log less, or plan a visit.',
        bring: `charged ${Math.round(node.power.battery.ratedWh)} Wh battery, meter, cleaning cloth and water`,
        ...visitForCause(facts),
        cautions: visitCautions(node.power.battery.chemistry),
      },
    };
  },
});
