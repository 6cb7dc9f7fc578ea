import { DAY_MS, sayPercent, sayRoughly, type Outlook, type Site } from '@duskline/domain';
import { visitCautions } from '../cautions.ts';
import { darkProbabilityWithin } from '../dark-probability.ts';
import { firstStopMs } from '../first-stop.ts';
import { isDarkForFault, quietUnlessHeard, quietWhileAccepted } from '../heard-state.ts';
import { defineRule, setting, type RuleFacts } from '../rule.ts';
import { visitForCause } from './visit-for-cause.ts';
import { today } from '../today.ts';

type Emptying = Extract<Outlook, { kind: 'empties-in' }>;

/** Forecast to reach the shut-down level within five days: time to act cheaply. */
export const forecastLow = defineRule({
  key: 'forecast-low',
  name: 'Forecast to reach the shut-down level',
  why: 'Time to act cheaply.',
  who: 'coordinator or on-call volunteer, within a day',
  settings: {
    withinDays: setting(5, 'days', [1, 14], 'how far ahead it looks'),
    raiseAtPercent: setting(60, '%', [10, 95], 'chance at which it is raised'),
    clearBelowPercent: setting(40, '%', [5, 90], 'chance below which it is over'),
    urgentDays: setting(2, 'days', [0, 7], 'within so many days it is for today'),
  },
  onDelay: { ms: 0, runs: 2 },
  offDelay: { ms: 0, runs: 2 },
  quietUnder: ['bad-weather'],
  evidenceAtMs: ({ outlook }) => outlook?.issuedAtMs,
  evaluate(facts, values) {
    const accepted = quietWhileAccepted(facts);
    if (accepted !== undefined) return accepted;
    if (isDarkForFault(facts)) return { kind: 'undecided' };
    const quiet = quietUnlessHeard(facts);
    if (quiet !== undefined) return quiet;
    const { outlook } = facts;
    if (outlook === undefined) return { kind: 'undecided' };
    const probability = darkProbabilityWithin(outlook, values.withinDays);
    if (probability === undefined) return { kind: 'undecided' };
    if (probability < values.clearBelowPercent / 100)
      return {
        kind: 'clear',
        why: `The chance of stopping within ${values.withinDays} days is down to ${sayPercent(probability)}.`,
      };
    if (probability < values.raiseAtPercent / 100 || outlook.kind !== 'empties-in')
      return { kind: 'undecided' };
    return holds(facts, outlook, { probability, ...values });
  },
});

function holds(
  facts: RuleFacts,
  outlook: Emptying,
  at: {
    readonly probability: number;
    readonly withinDays: number;
    readonly urgentDays: number;
    readonly raiseAtPercent: number;
  },
) {
  const { site, node, nowMs } = facts;
  const urgent = (darkProbabilityWithin(outlook, at.urgentDays) ?? 0) >= at.raiseAtPercent / 100;
  const firstMs = firstStopMs(outlook);
  return {
    kind: 'holds',
    priority: urgent ? 'P2' : 'P3',
    text: {
      sentence: `${site.name} will likely stop ${window(outlook, site, nowMs)} (${sayPercent(at.probability)}).`,
      figures: `${sayPercent(at.probability)} chance within ${at.withinDays} days${ifNobodyMends(outlook)}; harvest ${outlook.drivers.harvestWhPerDay.toFixed(1)} Wh a day against a load of ${outlook.drivers.loadWhPerDay.toFixed(1)} Wh; reserve ${outlook.drivers.reserveWh.toFixed(0)} Wh.`,
      byWhen: urgent
        ? today(facts)
        : `before ${sayRoughly(Math.max(firstMs, nowMs), nowMs, site.timeZone)}`,
      todo: 'Log less often; else visit: clean the panel, cut growth, change the battery.',
      bring: `charged ${Math.round(node.power.battery.ratedWh)} Wh battery, meter, cleaning cloth and water`,
      ...visitForCause(facts),
      cautions: visitCautions(node.power.battery.chemistry),
    },
  } as const;
}

const ifNobodyMends = ({ harvestStop }: Emptying): string =>
  harvestStop === undefined ? '' : ` if nobody mends it (${harvestStop.cause})`;

function window(outlook: Emptying, site: Site, nowMs: number): string {
  const say = (days: number) =>
    sayRoughly(outlook.issuedAtMs + days * DAY_MS, nowMs, site.timeZone);
  const from = say(outlook.p10Days);
  if (outlook.p90Days === undefined) return `from ${from} on`;
  const to = say(outlook.p90Days);
  return from === to ? `on ${from}` : `between ${from} and ${to}`;
}
