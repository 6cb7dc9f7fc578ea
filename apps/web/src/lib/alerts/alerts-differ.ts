import type { AlertJson } from '@duskline/contract';

/**
 * Does the newest row of a site say of its alerts what the page does not show: another alert, one that is over, or one that was
 * taken, paused or handed on since?
 *
 * @param held every alert the page holds, of all sites
 */
export function alertsDiffer(
  held: readonly AlertJson[],
  site: { readonly id: string; readonly alerts: readonly AlertJson[] },
): boolean {
  const said = ofEach(site.alerts);
  const shown = ofEach(held.filter(({ siteId }) => siteId === site.id));
  return said.size !== shown.size || [...said].some(([id, stand]) => shown.get(id) !== stand);
}

const ofEach = (alerts: readonly AlertJson[]): ReadonlyMap<string, string> =>
  new Map(
    alerts.map(({ id, priority, state, takenBy, paused, handed }) => [
      id,
      JSON.stringify([priority, state, takenBy, paused, handed]),
    ]),
  );
