import type { Permission, Position, SiteView } from '@duskline/domain';

/** Cells of a hundredth of a degree, as exports blur by: always the same cell, so that asking twice tells no more. */
const CELLS_A_DEGREE = 100;
/** The height would tell the place on a map. */
const ELEVATION_STEP_M = 50;

/** Who goes there, or builds there, sees where it is and how to get in. */
export const seesPlace = ({
  permissions,
}: {
  readonly permissions: readonly Permission[];
}): boolean => permissions.includes('handle-alerts') || permissions.includes('change-nodes');

/** A position as everybody may see it: within about 800 m of the true one. */
export const blurred = ({ latitudeDeg, longitudeDeg, elevationM }: Position): Position => ({
  latitudeDeg: Math.round(latitudeDeg * CELLS_A_DEGREE) / CELLS_A_DEGREE,
  longitudeDeg: Math.round(longitudeDeg * CELLS_A_DEGREE) / CELLS_A_DEGREE,
  elevationM: Math.round(elevationM / ELEVATION_STEP_M) * ELEVATION_STEP_M,
});

/** A site as somebody may see it who does not go there: the place blurred, the way in and whose land it is left out. */
export function withoutPlace<V extends SiteView>(view: V): V {
  const { landOwner: _, ...site } = view.site;
  return { ...view, site: { ...site, position: blurred(site.position), access: '' } };
}
