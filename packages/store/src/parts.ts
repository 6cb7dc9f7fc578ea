import type {
  Calibration,
  Part,
  PartKind,
  PartRating,
  PowerSystem,
  SiteId,
} from '@duskline/domain';
import type { Sql } from 'postgres';
import { storableJson, storableText } from './array-literal.ts';
import { refusingConflicts } from './conflicts.ts';
import { markLimitedHours } from './mark-limited-hours.ts';
import type { NewPart, PartStore } from './part-store.ts';

export function createPartStore(sql: Sql): PartStore {
  return {
    async list(siteId) {
      const rows = await sql<PartRow[]>`
        select * from part where site_id = ${siteId} order by removed_at is not null, kind, fitted_at desc, id desc`;
      return rows.map(partOf);
    },
    async find(id) {
      const [row] = await sql<PartRow[]>`select * from part where id = ${id}::bigint`;
      return row && partOf(row);
    },
    async add(part, change) {
      const power = powerText(change?.power);
      const [row] = await refusingConflicts(
        taken(part),
        () => sql<PartRow[]>`
        with changed as (
          update node set power = ${power}::text::jsonb
          where ${power}::text is not null and id = ${change?.nodeId ?? null}::integer
        )
        insert into part (site_id, kind, serial, maker, fitted_at, rated, calibration, notes)
        values ${valuesOf(sql, part)}
        returning *`,
      );
      return made(row);
    },
    async replace(id, next, change) {
      const power = powerText(change?.power);
      const [row] = await refusingConflicts(
        taken(next),
        () => sql<PartRow[]>`
        with old as (
          select id from part where id = ${id}::bigint and removed_at is null for update
        ), changed as (
          update node set power = ${power}::text::jsonb
          where ${power}::text is not null and id = ${change?.nodeId ?? null}::integer and exists (select from old)
        ), next as (
          insert into part (site_id, kind, serial, maker, fitted_at, rated, calibration, notes)
          select * from (values ${valuesOf(sql, next)}) fresh where exists (select from old)
          returning *
        ), removed as (
          update part set removed_at = greatest(part.fitted_at, next.fitted_at), replaced_by = next.id
          from next where part.id = ${id}::bigint
          returning part.*
        ), ${withoutItsLimits(sql)}
        select * from next`,
      );
      return row && partOf(row);
    },
    async remove(id, atMs) {
      const [row] = await sql<PartRow[]>`
        with removed as (
          update part set removed_at = greatest(fitted_at, to_timestamp(${atMs}::float8 / 1000))
          where id = ${id}::bigint and removed_at is null
          returning *
        ), ${withoutItsLimits(sql)}
        select * from removed`;
      return row && partOf(row);
    },
  };
}

/** Marks the hours that the limits of what was `removed` held for until now, and no longer do. */
const withoutItsLimits = (sql: Sql) => sql`
  concerned as (
    select node.id as node_id, removed.removed_at as from_at, 'infinity'::timestamptz as to_at
    from removed
    join quality_limits on scope = 'part' and quality_limits.name = removed.id::text
    join node on node.site_id = removed.site_id
  ),
  ${markLimitedHours(sql)}`;

const powerText = (power: PowerSystem | undefined): string | null =>
  power === undefined ? null : storableJson(power);

const taken = ({ kind, maker, serial }: NewPart): string =>
  `A ${kind} ${maker} with the serial ${serial} is fitted already, or there is no such site.`;

const valuesOf = (sql: Sql, part: NewPart) => sql`(
  ${part.siteId}::text, ${part.kind}::text, ${storableText(part.serial)}::text, ${storableText(part.maker)}::text,
  to_timestamp(${part.fittedAtMs}::float8 / 1000), ${storableJson(part.rated)}::text::jsonb,
  ${part.calibration === undefined ? null : storableJson(part.calibration)}::text::jsonb, ${storableText(part.notes)}::text
)`;

interface PartRow {
  readonly id: number;
  readonly site_id: SiteId;
  readonly kind: PartKind;
  readonly serial: string;
  readonly maker: string;
  readonly fitted_at: number;
  readonly removed_at: number | null;
  readonly rated: PartRating;
  readonly calibration: Calibration | null;
  readonly notes: string;
  readonly replaced_by: number | null;
}

function made(row: PartRow | undefined): Part {
  if (row === undefined) throw new Error('A part got no number.');
  return partOf(row);
}

const partOf = (row: PartRow): Part => ({
  id: String(row.id),
  siteId: row.site_id,
  kind: row.kind,
  serial: row.serial,
  maker: row.maker,
  fittedAtMs: row.fitted_at,
  ...(row.removed_at === null ? {} : { removedAtMs: row.removed_at }),
  rated: row.rated,
  ...(row.calibration === null ? {} : { calibration: row.calibration }),
  notes: row.notes,
  ...(row.replaced_by === null ? {} : { replacedBy: String(row.replaced_by) }),
});
