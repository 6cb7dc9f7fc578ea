import type { RuleKey } from '@duskline/domain';
import type { RuleFacts } from '../rule-facts.ts';
import { EVERY_VISIT, planFieldWork } from './plan-field-work.ts';

/**
 * What an alert says to bring: what the list of a visit has for its rule and for what diagnosis holds likely, without what is
 * taken everywhere. The same list as that of round and visit, so that none of them names what another leaves out.
 */
export function bringForRule(
  rule: RuleKey,
  { node, silence, power }: Pick<RuleFacts, 'node' | 'silence' | 'power'>,
): string {
  const { bring } = planFieldWork({
    rules: [rule],
    power: node.power,
    ...(silence === undefined ? {} : { silence }),
    ...(power === undefined ? {} : { charging: power }),
  });
  return bring
    .filter(({ because }) => because !== EVERY_VISIT)
    .map(({ what }) => what)
    .join('; ');
}
