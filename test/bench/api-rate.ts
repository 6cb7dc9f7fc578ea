import { newApiToken } from '@duskline/api';
import { openStore, startEmbeddedPostgres } from '@duskline/store';
import { freePort, waitFor } from '@duskline/test-harness';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { readConfig } from '../../apps/server/src/config.ts';
import { startServer } from '../../apps/server/src/start-server.ts';
import { copyWebSites, fillWebFleet } from './web-fleet.ts';

const LEARNT_SITES = 20;
const SITES = 1000;
const DAY_MS = 86_400_000;

interface Asked {
  readonly what: string;
  readonly medianMs: number;
  readonly p95Ms: number;
  readonly bytes: number;
}

async function tokenFor(databaseUrl: string): Promise<string> {
  const store = await openStore({ url: databaseUrl });
  try {
    const account = await store.accounts.create({
      email: 'bench@greywater.example',
      name: 'Bench',
      role: 'keeper',
      passwordHash: 'nobody signs in with it',
    });
    const { token, hash } = newApiToken(['read', 'export', 'administer']);
    await store.accounts.createToken({ accountId: account.id, name: 'bench', tokenHash: hash });
    return token;
  } finally {
    await store.close();
  }
}

/** One request after the other, with nobody else at the server; the first three are not counted. */
async function ask(
  url: string,
  token: string,
  {
    what,
    path,
    times = 30,
  }: { readonly what: string; readonly path: string; readonly times?: number },
): Promise<Asked> {
  const took: number[] = [];
  let bytes = 0;
  for (let i = 0; i < times + 3; i += 1) {
    const startedMs = performance.now();
    const answer = await fetch(url + path, {
      headers: { authorization: `Bearer ${token}`, 'accept-encoding': 'identity' },
    });
    const body = await answer.arrayBuffer();
    if (!answer.ok)
      throw new Error(`${path} answered ${answer.status}: ${Buffer.from(body).toString()}`);
    bytes = body.byteLength;
    if (i >= 3) took.push(performance.now() - startedMs);
  }
  took.sort((a, b) => a - b);
  const at = (share: number): number => took[Math.floor(took.length * share)] ?? 0;
  return { what, medianMs: at(0.5), p95Ms: at(0.95), bytes };
}

/** The API over HTTP on a fleet of a thousand sites and a year of readings of one node; client and server share a process. */
export async function benchApi({ quick }: { readonly quick: boolean }) {
  const folder = mkdtempSync(join(tmpdir(), 'duskline-bench-'));
  const database = await startEmbeddedPostgres({ dataDir: join(folder, 'postgres') });
  const samples = quick ? 100_000 : 1_051_200;
  try {
    const fleet = await fillWebFleet(database.url, LEARNT_SITES, samples);
    const token = await tokenFor(database.url);
    const server = await startServer(
      readConfig({
        DUSKLINE_DATABASE_URL: database.url,
        DUSKLINE_DATA_DIR: folder,
        DUSKLINE_HTTP_PORT: String(await freePort()),
        DUSKLINE_MQTT_PORT: String(await freePort()),
      }),
      pino({ level: 'error' }),
    );
    try {
      await waitFor(
        'every outlook',
        async () => {
          const answer = await fetch(`${server.url}/api/v1/fleet`, {
            headers: { authorization: `Bearer ${token}` },
          });
          const { rows } = (await answer.json()) as { rows: { site: { outlook: unknown } }[] };
          return rows.every(({ site }) => site.outlook !== null) ? true : undefined;
        },
        { withinMs: 240_000, everyMs: 2000 },
      );
      await copyWebSites(database.url, { learnt: LEARNT_SITES, from: 0, to: SITES - LEARNT_SITES });
      const readings = (days: number): string => {
        const to = Math.floor(Date.now() / 3_600_000) * 3_600_000;
        const range = `from=${new Date(to - days * DAY_MS).toISOString()}&to=${new Date(to).toISOString()}`;
        return `/api/v1/sites/${fleet.longSite}/readings?metric=batt_v&${range}&points=2000`;
      };
      const asked: Asked[] = [];
      for (const one of [
        { what: `fleet view, ${SITES} sites`, path: '/api/v1/fleet' },
        { what: `list of ${SITES} sites`, path: '/api/v1/sites' },
        { what: 'a hundred sites of the list', path: '/api/v1/sites?limit=100' },
        { what: 'one site', path: `/api/v1/sites/${fleet.longSite}` },
        { what: 'readings of 1 day', path: readings(1) },
        { what: 'readings of 30 days', path: readings(30) },
        { what: 'readings of 1 year', path: readings(365) },
        {
          what: 'SensorThings, 100 observations',
          path: '/api/sta/v1.1/Observations?$top=100',
          times: 10,
        },
      ])
        asked.push(await ask(server.url, token, one));
      return {
        report: { bench: 'api', sites: SITES, samples, asked },
        sentences: [
          `api, ${SITES} sites, ${samples.toLocaleString('en-GB')} samples of one node${quick ? ' (quick: a tenth)' : ''}`,
          ...asked.map(
            ({ what, medianMs, p95Ms, bytes }) =>
              `  ${what}: median ${medianMs.toFixed(0)} ms, 95 % within ${p95Ms.toFixed(0)} ms, ${(bytes / 1000).toFixed(0)} kB`,
          ),
        ],
      };
    } finally {
      await server.stop();
    }
  } finally {
    await database.stop();
    rmSync(folder, { recursive: true, force: true });
  }
}
