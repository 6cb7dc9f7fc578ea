import type { Sql } from 'postgres';
import { storableJson, storableText } from './array-literal.ts';
import type { ExportJob, ExportJobStore } from './export-store.ts';

export function createExportJobStore(sql: Sql): ExportJobStore {
  return {
    async create(job) {
      const query = storableJson(job.query);
      const [row] = await sql<JobRow[]>`
        with numbered as (
          insert into export_version (query_md5, last) values (md5((${query}::text::jsonb)::text), 1)
          on conflict (query_md5) do update set last = export_version.last + 1
          returning last
        )
        insert into export_job (account_id, by_name, holder, state, query, made_at, version, expires_at, file_name)
        select ${job.accountId}::uuid, ${storableText(job.by)}, ${job.holder}, 'running', ${query}::text::jsonb,
          to_timestamp(${job.madeAtMs}::float8 / 1000), last,
          to_timestamp(${job.expiresAtMs}::float8 / 1000), ${job.fileName}
        from numbered
        returning *`;
      if (row === undefined) throw new Error('An export got no number.');
      return jobOf(row);
    },
    async name(id, fileName) {
      await sql`update export_job set file_name = ${fileName} where id = ${id}`;
    },
    async find(id) {
      const [row] = await sql<JobRow[]>`select * from export_job where id = ${id}`;
      return row && jobOf(row);
    },
    async recent(limit) {
      const rows = await sql<JobRow[]>`
        select * from export_job order by made_at desc, id desc limit ${limit}`;
      return rows.map(jobOf);
    },
    async finish(id, end) {
      const rows = await sql`
        update export_job set state = ${end.state}, finished_at = to_timestamp(${end.atMs}::float8 / 1000),
          row_count = ${end.rows ?? null}, bytes = ${end.bytes ?? null}, sha256 = ${end.sha256 ?? null},
          note = ${end.note ?? null}
        where id = ${id} and state = 'running'
        returning id`;
      return rows.length > 0;
    },
    async failRunning(holder, note, atMs) {
      const rows = await sql<{ id: number }[]>`
        update export_job set state = 'failed', note = ${note}, finished_at = to_timestamp(${atMs}::float8 / 1000)
        where holder = ${holder} and state = 'running'
        returning id`;
      return rows.map(({ id }) => id);
    },
    async remove(id) {
      return (await sql`delete from export_job where id = ${id} returning id`).length > 0;
    },
    async expired(holder, nowMs) {
      const rows = await sql<JobRow[]>`
        select * from export_job
        where holder = ${holder} and expires_at <= to_timestamp(${nowMs}::float8 / 1000) and state <> 'running'`;
      return rows.map(jobOf);
    },
  };
}

interface JobRow {
  readonly id: number;
  readonly account_id: ExportJob['accountId'];
  readonly by_name: string;
  readonly holder: string;
  readonly state: ExportJob['state'];
  readonly query: unknown;
  readonly made_at: number;
  readonly version: number;
  readonly finished_at: number | null;
  readonly expires_at: number;
  readonly file_name: string;
  readonly row_count: number | null;
  readonly bytes: number | null;
  readonly sha256: string | null;
  readonly note: string | null;
}

const jobOf = (row: JobRow): ExportJob => ({
  id: row.id,
  accountId: row.account_id,
  by: row.by_name,
  holder: row.holder,
  state: row.state,
  query: row.query,
  madeAtMs: row.made_at,
  version: row.version,
  ...(row.finished_at === null ? {} : { finishedAtMs: row.finished_at }),
  expiresAtMs: row.expires_at,
  fileName: row.file_name,
  ...(row.row_count === null ? {} : { rows: row.row_count }),
  ...(row.bytes === null ? {} : { bytes: row.bytes }),
  ...(row.sha256 === null ? {} : { sha256: row.sha256 }),
  ...(row.note === null ? {} : { note: row.note }),
});
