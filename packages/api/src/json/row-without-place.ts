import type { FleetRowJson } from '@duskline/contract';
import { blurred } from '../access/seen-place.ts';

/** A row as everybody may see it: where the site is only to a hundredth of a degree. */
export function rowWithoutPlace(row: FleetRowJson): FleetRowJson {
  return { ...row, site: { ...row.site, ...blurred(row.site) } };
}
