import { DAY_MS, sayPercent, sayRoughly, type Outlook, type Site } from '@duskline/domain';
import { visitCautions } from '../cautions.ts';
import { darkProbabilityWithin } from '../dark-probability.ts';
import type { Rule, RuleFacts } from '../rule.ts';

/** Days ahead, and the chances at which it is raised and cleared (trade table row 2; our choice, to become settings). */
const WITHIN_DAYS = 5;
const RAISE_AT = 0.6;
const CLEAR_BELOW = 0.4;
const URGENT_DAYS = 2;

type Emptying = Extract<Outlook, { kind: 'empties-in' }>;

/** Forecast to reach the shut-down level within five days: time to act cheaply. */
export const forecastLow: Rule = {
  key: 'forecast-low',
  name: 'Forecast to reach the shut-down level',
  onDelay: { ms: 0, runs: 2 },
  offDelay: { ms: 0, runs: 2 },
  evidenceAtMs: ({ outlook }) => outlook?.issuedAtMs,
  evaluate(facts) {
    const { verdict, outlook } = facts;
    if (verdict.state !== 'up' && verdict.state !== 'low')
      return { kind: 'quiet', why: `The node is ${verdict.state.replaceAll('-', ' ')}.` };
    if (outlook === undefined) return { kind: 'undecided' };
    const probability = darkProbabilityWithin(outlook, WITHIN_DAYS);
    if (probability === undefined) return { kind: 'undecided' };
    if (probability < CLEAR_BELOW)
      return {
        kind: 'clear',
        why: `The chance of stopping within ${WITHIN_DAYS} days is down to ${sayPercent(probability)}.`,
      };
    if (probability < RAISE_AT || outlook.kind !== 'empties-in') return { kind: 'undecided' };
    return holds(facts, outlook, probability);
  },
};

function holds({ site, node, nowMs }: RuleFacts, outlook: Emptying, probability: number) {
  const urgent = (darkProbabilityWithin(outlook, URGENT_DAYS) ?? 0) >= RAISE_AT;
  const firstMs = outlook.issuedAtMs + outlook.p10Days * DAY_MS;
  return {
    kind: 'holds',
    priority: urgent ? 'P2' : 'P3',
    text: {
      sentence: `${site.name} will likely stop ${window(outlook, site, nowMs)}.`,
      figures: `${sayPercent(probability)} chance within ${WITHIN_DAYS} days; harvest ${outlook.drivers.harvestWhPerDay.toFixed(1)} Wh a day against a load of ${outlook.drivers.loadWhPerDay.toFixed(1)} Wh; reserve ${outlook.drivers.reserveWh.toFixed(0)} Wh.`,
      byWhen: urgent
        ? 'today; no need at night'
        : `before ${sayRoughly(Math.max(firstMs, nowMs), nowMs, site.timeZone)}`,
      todo: 'Log less often if the node takes settings. If nothing changes, visit: clean the panel, cut growth, change the battery.',
      bring: `charged ${Math.round(node.power.battery.ratedWh)} Wh battery, meter, cleaning cloth and water`,
      cautions: visitCautions(node.power.battery.chemistry),
    },
  } as const;
}

function window(outlook: Emptying, site: Site, nowMs: number): string {
  const say = (days: number) =>
    sayRoughly(outlook.issuedAtMs + days * DAY_MS, nowMs, site.timeZone);
  const from = say(outlook.p10Days);
  if (outlook.p90Days === undefined) return `from ${from} on`;
  const to = say(outlook.p90Days);
  return from === to ? `on ${from}` : `between ${from} and ${to}`;
}
