import type { NodeDiagnosesJson, RuleListJson, SiteJson } from '@duskline/contract';
import { placesBehind, valueInForce } from '../people/rule-places.ts';
import { siteText } from '../text/site.ts';

const words = siteText.noCall;
/** A chance of stopping within the week, or of a cause, that a reader would take for a reason to call. */
const LIKELY = { stop: 0.3, cause: 0.5 } as const;

/** Why a high chance of stopping has no alert: what the rule asks for before it calls. Undefined: there is one, or none to expect. */
export function whyNoStopCall(site: SiteJson, rules: RuleListJson): string | undefined {
  const chance = site.outlook?.darkWithin7DaysProbability ?? 0;
  if (!isHeard(site) || chance < LIKELY.stop || site.alerts.length > 0) return undefined;
  const rule = settingsOf(site, rules, 'forecast-low');
  return (
    rule &&
    words.stop(rule.name, rule.values['withinDays'] ?? 0, rule.values['raiseAtPercent'] ?? 0)
  );
}

/** Why a battery that most likely has aged has no alert. */
export function whyNoBatteryCall(
  site: SiteJson,
  rules: RuleListJson,
  diagnoses: NodeDiagnosesJson['diagnoses'],
): string | undefined {
  const isAged = diagnoses.some(({ causes: [first] }) =>
    first === undefined
      ? false
      : first.cause === 'battery-aged' && first.probability >= LIKELY.cause,
  );
  if (!isAged || site.alerts.some(({ rule }) => rule === 'battery-ageing')) return undefined;
  const rule = settingsOf(site, rules, 'battery-ageing');
  return (
    rule &&
    words.battery(rule.name, rule.values['capacityPercent'] ?? 0, rule.values['cycles'] ?? 0)
  );
}

const isHeard = ({ state }: SiteJson): boolean => state === 'up' || state === 'low';

/** The rule as it counts for this node: what was set for node, site or fleet, else what it came with. */
function settingsOf(site: SiteJson, { rules, inForce }: RuleListJson, key: string) {
  const rule = rules.find((one) => one.key === key);
  if (rule === undefined) return undefined;
  const places = placesBehind(site.node === null ? `site:${site.id}` : `node:${site.node}`, [site]);
  return {
    name: rule.name,
    values: Object.fromEntries(
      rule.settings.map((one) => [
        one.key,
        valueInForce(inForce, places, { rule: key, setting: one.key })?.value ?? one.default,
      ]),
    ),
  };
}
