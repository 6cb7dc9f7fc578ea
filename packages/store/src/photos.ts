import type { SiteId } from '@duskline/domain';
import type { Sql } from 'postgres';
import { storableText } from './array-literal.ts';
import type { KeptPhoto, PhotoStore, PhotoType } from './photo-store.ts';

export function createPhotoStore(sql: Sql): PhotoStore {
  const columns = sql`id, site_id, part_id, type, octet_length(bytes) as byte_count, caption, added_at, added_by`;
  return {
    async list(siteId) {
      const rows = await sql<PhotoRow[]>`
        select ${columns} from photo where site_id = ${siteId} order by added_at desc, id desc`;
      return rows.map(photoOf);
    },
    async add({ siteId, partId, type, bytes, caption, addedAtMs, addedBy }, most) {
      const part = partId ?? null;
      const [row] = await sql<PhotoRow[]>`
        insert into photo (site_id, part_id, type, bytes, caption, added_at, added_by)
        select ${siteId}::text, ${part}::bigint, ${type}::text, ${Buffer.from(bytes)}::bytea, ${storableText(caption)}::text,
          to_timestamp(${addedAtMs}::float8 / 1000), ${storableText(addedBy)}::text
        where (select count(*) from photo where site_id = ${siteId}) < ${most}::integer
          and (${part}::bigint is null
            or exists (select from part where id = ${part}::bigint and site_id = ${siteId}))
        returning ${columns}`;
      return row && photoOf(row);
    },
    async bytes(siteId, id) {
      const [row] = await sql<{ type: PhotoType; bytes: Uint8Array }[]>`
        select type, bytes from photo where id = ${id}::bigint and site_id = ${siteId}`;
      return row;
    },
    async remove(siteId, id) {
      const rows = await sql`
        delete from photo where id = ${id}::bigint and site_id = ${siteId} returning id`;
      return rows.length > 0;
    },
  };
}

interface PhotoRow {
  readonly id: number;
  readonly site_id: SiteId;
  readonly part_id: number | null;
  readonly type: PhotoType;
  readonly byte_count: number;
  readonly caption: string;
  readonly added_at: number;
  readonly added_by: string;
}

const photoOf = (row: PhotoRow): KeptPhoto => ({
  id: String(row.id),
  siteId: row.site_id,
  ...(row.part_id === null ? {} : { partId: String(row.part_id) }),
  type: row.type,
  byteCount: row.byte_count,
  caption: row.caption,
  addedAtMs: row.added_at,
  addedBy: row.added_by,
});
