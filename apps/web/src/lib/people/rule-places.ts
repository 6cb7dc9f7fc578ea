import type { RuleListJson, SiteListJson } from '@duskline/contract';

/** For what a setting of a rule counts. A node is named by its name on the wire. */
export interface RulePlace {
  readonly scope: 'fleet' | 'site' | 'node';
  readonly subject: string;
}

export const FLEET: RulePlace = { scope: 'fleet', subject: '' };

export const isOf = (one: RulePlace, place: RulePlace): boolean =>
  one.scope === place.scope && one.subject === place.subject;

/** `site:tarn-gill` and the like, for an address and the value of a choice. */
export const placeKey = ({ scope, subject }: RulePlace): string =>
  scope === 'fleet' ? 'fleet' : `${scope}:${subject}`;

/**
 * The place of that key and what stands behind it, the nearest first: a node before its site, a site before the fleet.
 *
 * @param key as of `placeKey`; of what is not there only the fleet is left
 */
export function placesBehind(key: string, sites: SiteListJson['sites']): readonly RulePlace[] {
  const [scope, subject = ''] = key.split(':');
  const site = sites.find((one) => (scope === 'node' ? one.node === subject : one.id === subject));
  if (site === undefined || (scope !== 'site' && scope !== 'node')) return [FLEET];
  const ofSite: RulePlace = { scope: 'site', subject: site.id };
  return scope === 'node' ? [{ scope, subject }, ofSite, FLEET] : [ofSite, FLEET];
}

/** What was set at the nearest of these places; undefined: nowhere, so that the default counts. */
export function valueInForce(
  inForce: RuleListJson['inForce'],
  places: readonly RulePlace[],
  { rule, setting }: { readonly rule: string; readonly setting: string },
): { readonly value: number; readonly place: RulePlace; readonly isOwn: boolean } | undefined {
  for (const [i, place] of places.entries()) {
    const value = inForce.find(
      (one) => one.rule === rule && one.setting === setting && isOf(one, place),
    )?.value;
    if (value != null) return { value, place, isOwn: i === 0 };
  }
  return undefined;
}
