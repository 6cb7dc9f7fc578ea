import { spawn, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { startEmbeddedPostgres } from '@duskline/store';
import { freePort, launchBrowser, waitFor } from '@duskline/test-harness';
import type { Browser } from 'playwright-core';
import { buildWebIfStale } from '../../apps/server/src/demo-web.ts';
import * as web from './web-browser.ts';
import { copyWebSites, fillWebFleet, pastsToDo, startFlood } from './web-fleet.ts';

const root = fileURLToPath(new URL('../../', import.meta.url));
const SITES = 200;
/** So many get outlooks from the server itself; the others are copies of them. */
const LEARNT_SITES = 25;
const SITES_OF_FLOOD = 1000;
const NEWS_PER_SECOND = 1000;

interface Running {
  readonly url: string;
  readonly account: web.WebAccount;
  readonly stop: () => Promise<void>;
}

/** The real server with the built app, on a filled database. */
async function startServer(databaseUrl: string, dataDir: string): Promise<Running> {
  const child: ChildProcess = spawn(
    process.execPath,
    ['--conditions=development', '--import', 'tsx', 'apps/server/src/main.ts'],
    {
      cwd: root,
      env: {
        ...process.env,
        DUSKLINE_DATABASE_URL: databaseUrl,
        DUSKLINE_DATA_DIR: dataDir,
        DUSKLINE_HTTP_PORT: String(await freePort()),
        DUSKLINE_MQTT_PORT: String(await freePort()),
        DUSKLINE_LOG_LEVEL: 'error',
      },
      stdio: ['ignore', 'pipe', 'pipe'],
    },
  );
  let printed = '';
  for (const stream of [child.stdout, child.stderr])
    stream?.on('data', (bytes: Buffer) => (printed += bytes.toString()));
  await waitFor('the server', () => child.exitCode !== null || /^mqtt: /m.test(printed), {
    withinMs: 120_000,
  });
  const [, email = '', password = ''] = /^account: (\S+) (\S+)/m.exec(printed) ?? [];
  const url = /^web: (\S+)/m.exec(printed)?.[1];
  if (url === undefined || child.exitCode !== null)
    throw new Error(`The server did not start:\n${printed}`);
  return {
    url,
    account: { email, password },
    async stop() {
      // Nothing of it is kept: it need not end what it is at.
      const gone = once(child, 'exit');
      child.kill('SIGKILL');
      await gone;
    },
  };
}

async function loads(browser: Browser, kept: Awaited<ReturnType<typeof web.signIn>>, url: string) {
  const all: Awaited<ReturnType<typeof web.firstLoad>>[] = [];
  for (let i = 0; i < 7; i++) all.push(await web.firstLoad(browser, kept, url));
  const times = all.map(({ loadMs }) => loadMs);
  return {
    medianMs: web.quantile(times, 0.5),
    worstMs: Math.max(...times),
    scriptGzipKb: (all[0]?.gzipBytes ?? 0) / 1000,
    scriptOnTheWireKb: (all[0]?.wireBytes ?? 0) / 1000,
  };
}

/** The fleet page and the explorer in a real browser, on the built app and the real server. */
export async function benchWeb({ quick }: { readonly quick: boolean }) {
  const folder = mkdtempSync(join(tmpdir(), 'duskline-bench-'));
  await buildWebIfStale((line) => process.stderr.write(`${line}\n`));
  const database = await startEmbeddedPostgres({ dataDir: join(folder, 'postgres') });
  const longSamples = quick ? 100_000 : 1_000_000;
  let server: Running | undefined;
  let browser: Browser | undefined;
  try {
    const fleet = await fillWebFleet(database.url, LEARNT_SITES, longSamples);
    server = await startServer(database.url, folder);
    browser = await launchBrowser();
    const kept = await web.signIn(browser, server.url, server.account);
    // Every node has its outlook before anything is measured.
    const settled = await web.openPage(browser, kept);
    await settled.goto(server.url);
    const { url } = server;
    await waitFor(
      'every outlook',
      async () => {
        const answer = await settled.request.get(`${url}/api/v1/fleet`);
        const { rows } = (await answer.json()) as { rows: { site: { outlook: unknown } }[] };
        const without = rows.filter(({ site }) => site.outlook === null).length;
        if (without > 0) throw new Error(`${without} of ${rows.length} have none`);
        return true;
      },
      { withinMs: 400_000, everyMs: 2000 },
    );
    await settled.context().close();
    await waitFor(
      'every past to be gone through',
      async () => (await pastsToDo(database.url)) === 0,
      { withinMs: 400_000, everyMs: 2000 },
    );
    await copyWebSites(database.url, { learnt: LEARNT_SITES, from: 0, to: SITES - LEARNT_SITES });
    const load = await loads(browser, kept, url);

    const page = await web.openPage(browser, kept);
    await page.goto(url);
    await page.locator('tr[data-site]').first().waitFor();
    const onFleet = await web.interact(page, web.fleetActs(page));
    const days = (longSamples * 30) / 86_400;
    const from = new Date(Date.now() - days * 86_400_000).toISOString();
    const to = new Date().toISOString();
    await page.goto(`${url}/sites/${fleet.longSite}?metrics=batt_v&from=${from}&to=${to}#readings`);
    const paper = page.locator('.paper');
    await paper.scrollIntoViewIfNeeded();
    await paper.focus();
    await page.waitForTimeout(1500);
    const zooms: number[] = [];
    for (const key of ['+', '+', '+', '+', '+', '+', '+', '-', '-', '-', '-', '-', '-', '-'])
      zooms.push(await web.zoomOnce(page, key));
    const inExplorer = await web.interact(page, web.explorerActs(page));
    await page.context().close();

    await copyWebSites(database.url, {
      learnt: LEARNT_SITES,
      from: SITES - LEARNT_SITES,
      to: SITES_OF_FLOOD - LEARNT_SITES,
    });
    const watched = await web.openPage(browser, kept);
    let heard = 0;
    watched.on('websocket', (socket) =>
      socket.on('framereceived', ({ payload }) => {
        if (String(payload).startsWith('42["site"')) heard += 1;
      }),
    );
    await watched.goto(url);
    await watched.locator('tr[data-site]').first().waitFor();
    await watched.waitForTimeout(1500);
    const flood = await startFlood(database.url, NEWS_PER_SECOND);
    await watched.waitForTimeout(2000);
    heard = 0;
    const SECONDS = quick ? 5 : 15;
    const seen = await web.watchFor(watched, SECONDS * 1000);
    const heardPerSecond = heard / SECONDS;
    const duringFlood = await web.interact(watched, web.fleetActs(watched).slice(0, 20));
    await flood.stop();
    await watched.context().close();

    const acts = [...onFleet.all, ...inExplorer.all];
    const report = {
      bench: 'web',
      sites: SITES,
      firstLoadMs: load,
      interactions: {
        count: acts.length,
        fleetP95Ms: onFleet.p95Ms,
        explorerP95Ms: inExplorer.p95Ms,
        p95Ms: web.quantile(acts, 0.95),
        worstMs: Math.max(...acts),
      },
      zoom: {
        readings: longSamples,
        medianMs: web.quantile(zooms, 0.5),
        worstMs: Math.max(...zooms),
      },
      live: {
        sites: SITES_OF_FLOOD,
        toldPerSecond: NEWS_PER_SECOND,
        heardPerSecond,
        longestFreezeMs: seen.longestGapMs,
        framesPerSecond: seen.frames / SECONDS,
        interactionP95Ms: duringFlood.p95Ms,
      },
    };
    const { interactions, zoom, live } = report;
    return {
      report,
      sentences: [
        `first load of the fleet page, ${SITES} sites, nothing cached: ${load.medianMs.toFixed(0)} ms until rows are painted (median of 7; slowest ${load.worstMs.toFixed(0)} ms)`,
        `  script before charts: ${load.scriptGzipKb.toFixed(0)} kB gzipped, ${load.scriptOnTheWireKb.toFixed(0)} kB as the server sent it`,
        `interaction to next paint: p95 ${interactions.p95Ms.toFixed(0)} ms of ${interactions.count} (fleet page ${interactions.fleetP95Ms.toFixed(0)} ms, explorer ${interactions.explorerP95Ms.toFixed(0)} ms; slowest ${interactions.worstMs.toFixed(0)} ms)`,
        `zoom within ${zoom.readings.toLocaleString('en-GB')} readings, from the key to the new curve: ${zoom.medianMs.toFixed(0)} ms (median; slowest ${zoom.worstMs.toFixed(0)} ms)`,
        `${live.toldPerSecond} nodes changed a second, ${live.sites} sites: the page heard ${live.heardPerSecond.toFixed(0)} a second, ${live.framesPerSecond.toFixed(0)} frames a second, longest without a frame ${live.longestFreezeMs.toFixed(0)} ms; interactions p95 ${live.interactionP95Ms.toFixed(0)} ms`,
      ],
    };
  } finally {
    await browser?.close();
    await server?.stop();
    await database.stop();
    rmSync(folder, { recursive: true, force: true });
  }
}
