import type { LandOwner, Site } from '@duskline/domain';
import { sql, type Kysely, type Selectable } from 'kysely';
import { storableJson } from './array-literal.ts';
import { refusingConflicts } from './conflicts.ts';
import type { Tables } from './schema.ts';
import type { SiteStore } from './store.ts';

export function createSiteStore(db: Kysely<Tables>): SiteStore {
  return {
    async list() {
      const rows = await db.selectFrom('site').selectAll().orderBy('name').orderBy('id').execute();
      return rows.map(siteOf);
    },
    async find(id) {
      const row = await db.selectFrom('site').selectAll().where('id', '=', id).executeTakeFirst();
      return row && siteOf(row);
    },
    async create(site) {
      await refusingConflicts(`There is a site ${site.id} already.`, () =>
        db
          .insertInto('site')
          .values({
            id: site.id,
            name: site.name,
            latitude_deg: site.position.latitudeDeg,
            longitude_deg: site.position.longitudeDeg,
            elevation_m: site.position.elevationM,
            time_zone: site.timeZone,
            access: site.access,
            hazards: site.hazards,
            critical: site.critical ?? false,
            clearness: site.clearnessByMonth === undefined ? null : [...site.clearnessByMonth],
          })
          .execute(),
      );
      return site;
    },
    async setLandOwner(id, owner) {
      const kept = owner === undefined ? null : storableJson(owner);
      const row = await db
        .updateTable('site')
        .set({ land_owner: sql<LandOwner | null>`${kept}::text::jsonb` })
        .where('id', '=', id)
        .returningAll()
        .executeTakeFirst();
      return row && siteOf(row);
    },
  };
}

export const siteOf = (row: Selectable<Tables['site']>): Site => ({
  id: row.id,
  name: row.name,
  position: {
    latitudeDeg: row.latitude_deg,
    longitudeDeg: row.longitude_deg,
    elevationM: row.elevation_m,
  },
  timeZone: row.time_zone,
  access: row.access,
  hazards: row.hazards,
  ...(row.land_owner === null ? {} : { landOwner: row.land_owner }),
  ...(row.critical ? { critical: true } : {}),
  ...(row.clearness === null ? {} : { clearnessByMonth: row.clearness }),
});
