import postgres from 'postgres';

/** What the database says of the sample table and of its log. */
export interface DatabaseSizes {
  readonly version: string;
  readonly samples: number;
  /** Heap, keys and TOAST of every partition. */
  readonly sampleBytes: number;
  /** Of these the keys. */
  readonly keyBytes: number;
  /** Rows that carry flags: each was written twice, and its first place is empty until the table is vacuumed. */
  readonly flagged: number;
  readonly walBytes: number;
}

/** Reads the sizes past all code of ours. */
export async function readSizes(url: string): Promise<DatabaseSizes> {
  const sql = postgres(url, { max: 1, onnotice: () => undefined });
  try {
    const [row] = await sql<
      {
        version: string;
        samples: string;
        flagged: string;
        bytes: string;
        keys: string;
        wal: string;
      }[]
    >`select current_setting('server_version') as version,
        (select count(*) from sample) as samples,
        (select count(*) from sample where flags is not null) as flagged,
        (select sum(pg_total_relation_size(inhrelid)) from pg_inherits
          where inhparent = 'sample'::regclass) as bytes,
        (select sum(pg_indexes_size(inhrelid)) from pg_inherits
          where inhparent = 'sample'::regclass) as keys,
        pg_current_wal_insert_lsn() - '0/0'::pg_lsn as wal`;
    return {
      version: row?.version ?? '',
      samples: Number(row?.samples),
      sampleBytes: Number(row?.bytes),
      keyBytes: Number(row?.keys),
      flagged: Number(row?.flagged),
      walBytes: Number(row?.wal),
    };
  } finally {
    await sql.end();
  }
}
