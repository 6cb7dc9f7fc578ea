import { join } from 'node:path';
import { migrateStore, startEmbeddedPostgres, type EmbeddedPostgres } from '@duskline/store';
import { freePort, waitFor } from '@duskline/test-harness';
import postgres from 'postgres';
import type { Lab } from '../lab.ts';

/** A Postgres of one experiment that may be hurt: always on the same port, so that the server finds it again. */
export interface RestartablePostgres {
  readonly url: string;
  readonly port: number;
  readonly pid: () => number;
  /** SIGKILL to the postmaster; resolves when it takes connections again. */
  readonly kill9: () => Promise<void>;
  /** Fast shutdown and start. */
  readonly restart: () => Promise<void>;
  readonly stop: () => Promise<void>;
  readonly start: () => Promise<void>;
}

export async function restartablePostgres(
  lab: Lab,
  dataDir = join(lab.folder, 'postgres'),
): Promise<RestartablePostgres> {
  const port = await freePort();
  const open = () => startEmbeddedPostgres({ dataDir, port });
  let server: EmbeddedPostgres = await open();
  lab.undo(() => server.stop());
  const { url } = server;
  await migrateStore(url);
  return {
    url,
    port,
    pid: () => server.pid(),
    async kill9() {
      process.kill(server.pid(), 'SIGKILL');
      await waitFor('Postgres to take connections again', () => takesConnections(url), {
        withinMs: 60_000,
      });
    },
    async restart() {
      await server.stop();
      server = await open();
    },
    stop: () => server.stop(),
    async start() {
      server = await open();
    },
  };
}

export async function takesConnections(url: string): Promise<boolean> {
  const sql = postgres(url, { max: 1, connect_timeout: 2, onnotice: () => undefined });
  try {
    await sql`select 1`;
    return true;
  } catch {
    return false;
  } finally {
    await sql.end({ timeout: 1 });
  }
}

/** Ends every backend but its own, every `everyMs` for `forMs`. @returns how many were ended */
export async function stormOfKilledBackends(
  url: string,
  { everyMs, forMs }: { readonly everyMs: number; readonly forMs: number },
): Promise<number> {
  const sql = postgres(url, { max: 1, onnotice: () => undefined });
  let killed = 0;
  try {
    const untilMs = Date.now() + forMs;
    while (Date.now() < untilMs) {
      const rows = await sql`
        select pg_terminate_backend(pid) from pg_stat_activity
        where pid <> pg_backend_pid() and backend_type = 'client backend'`;
      killed += rows.length;
      await new Promise((resolve) => setTimeout(resolve, everyMs));
    }
  } finally {
    await sql.end({ timeout: 1 });
  }
  return killed;
}
