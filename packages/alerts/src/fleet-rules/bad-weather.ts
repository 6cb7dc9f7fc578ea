import { sayPercent } from '@duskline/domain';
import { chanceWithin } from '../dark-probability.ts';
import { defineFleetRule, type FleetFacts, type FleetNode } from '../fleet-rule.ts';
import { causesOf } from '../one-cause.ts';
import { setting } from '../rule.ts';

const NAMED = 6;
const ownReasons = causesOf('forecast-low');

/**
 * Bad weather for many: several sites are forecast to stop for want of sun, none of them for a reason of its own. One
 * weather, one alert (row 2 of the table of rules: "fleet-wide bad weather: one group alert").
 */
export const badWeather = defineFleetRule({
  key: 'bad-weather',
  name: 'Bad weather for many sites',
  why: 'One weather, one call.',
  who: 'coordinator, within a day',
  settings: {
    sites: setting(3, 'sites', [2, 50], 'sites that must be forecast to stop'),
    sharePercent: setting(20, '%', [5, 100], 'share of the sites that are heard'),
    withinDays: setting(5, 'days', [1, 14], 'how far ahead it looks'),
    raiseAtPercent: setting(60, '%', [10, 95], 'chance at which a site counts'),
    clearBelowPercent: setting(40, '%', [5, 90], 'chance below which it counts no longer'),
    urgentDays: setting(2, 'days', [0, 7], 'within so many days it is for today'),
  },
  onDelay: { ms: 0, runs: 1 },
  offDelay: { ms: 0, runs: 2 },
  evaluate: (facts, values) => [judge(facts, values)],
});

interface Limits {
  readonly sites: number;
  readonly sharePercent: number;
  readonly withinDays: number;
  readonly raiseAtPercent: number;
  readonly clearBelowPercent: number;
  readonly urgentDays: number;
}

function judge({ nodes }: FleetFacts, limits: Limits) {
  const heard = nodes.filter(({ state }) => state === 'up' || state === 'low');
  const least = Math.max(limits.sites, Math.ceil((limits.sharePercent / 100) * heard.length));
  const { withinDays } = limits;
  const likely = likelyWithin(heard, withinDays, limits.raiseAtPercent / 100);
  if (likely.length >= least) return holds(likely, { heard: heard.length, limits });
  const stillLikely = likelyWithin(heard, withinDays, limits.clearBelowPercent / 100);
  if (stillLikely.length >= least)
    return {
      kind: 'undecided',
      subject: '',
      covers: stillLikely.map(({ nodeId }) => nodeId),
    } as const;
  return {
    kind: 'clear',
    subject: '',
    why: `Fewer than ${least} sites are forecast to stop within ${withinDays} days.`,
  } as const;
}

const hasOwnReason = ({ openRules = [], isAcceptedDark }: FleetNode): boolean =>
  isAcceptedDark === true || openRules.some((rule) => ownReasons.includes(rule));

/** Those the weather takes down with such a chance, the likeliest first. */
function likelyWithin(nodes: readonly FleetNode[], days: number, ratio: number) {
  return nodes
    .flatMap((node) =>
      node.ahead === undefined || hasOwnReason(node)
        ? []
        : [{ ...node, chance: chanceWithin(node.ahead, days), ahead: node.ahead }],
    )
    .filter(({ chance }) => chance >= ratio)
    .sort((a, b) => b.chance - a.chance || a.siteName.localeCompare(b.siteName));
}

function holds(
  likely: ReturnType<typeof likelyWithin>,
  { heard, limits }: { readonly heard: number; readonly limits: Limits },
) {
  const { withinDays, urgentDays, raiseAtPercent } = limits;
  const isUrgent = likely.some(
    ({ ahead }) => chanceWithin(ahead, urgentDays) >= raiseAtPercent / 100,
  );
  const named = likely
    .slice(0, NAMED)
    .map(({ siteName, chance }) => `${siteName} ${sayPercent(chance)}`);
  const others = likely.length - named.length;
  return {
    kind: 'holds',
    subject: '',
    priority: isUrgent ? 'P2' : 'P3',
    covers: likely.map(({ nodeId }) => nodeId),
    text: {
      sentence: `${likely.length} sites will likely stop within ${withinDays} days for want of sun.`,
      figures: `${named.join(', ')}${others > 0 ? ` and ${others} more` : ''}; ${likely.length} of ${heard} sites that are heard.`,
      byWhen: isUrgent ? 'today; no need at night' : 'within a day',
      todo: 'Ask them all to log less often; plan one round, the likeliest to stop first.',
      bring: 'a charged battery for each site of the round, meter',
      cautions: [],
    },
  } as const;
}
