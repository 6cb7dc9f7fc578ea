import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { HOUR_MS } from '@duskline/domain';
import { launchBrowser, waitFor } from '@duskline/test-harness';
import { Ajv } from 'ajv';
import addFormats from 'ajv-formats';
import mqtt from 'mqtt';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { DemoProcess } from './demo-process.ts';
import { readZip } from '../../apps/server/src/export/testing-zip.ts';
import { dataPackageProfile } from '../reference/export/data-package-profile.ts';
import { startReadyDemo } from './ready-demo.ts';
import { watchPages, type WatchedPages } from './watched-pages.ts';

// The days of three people, each from the first page to what they came for. The volunteer's is in alert-path.test.ts.
const screens = [
  ['phone', { viewport: { width: 390, height: 844 }, hasTouch: true }],
  ['desk', { viewport: { width: 1440, height: 900 } }],
] as const;

let folder: string;
let demo: DemoProcess;
let browser: Browser;
let pages: WatchedPages;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'duskline-stories-'));
  demo = await startReadyDemo(folder);
  browser = await launchBrowser();
  pages = watchPages(browser, demo.lines);
});
afterAll(async () => {
  await browser?.close();
  await demo?.interrupt();
  rmSync(folder, { recursive: true, force: true });
});

/** A page that has come asks for nothing more of itself: what it shows later it was told. */
const SETTLED_MS = 3000;

describe.each(screens)('on a %s', (screen, options) => {
  // A row shows the next visit: that of the second screen comes before that of the first.
  const hoursAhead = 4 - 2 * screens.findIndex(([name]) => name === screen);
  it('the coordinator comes from the morning’s sentence to a plan', async () => {
    const page = await pages.signedIn(options);
    const sentence = await page.locator('h1').innerText();
    expect(sentence).toMatch(/need(s)? (someone|anyone) this week/);
    // What needs somebody stands first: Rushy Sluice is running down, and the page says what would gain days.
    await page.locator('tr[data-site="rushy-sluice"] [data-row-link]').click();
    await page.getByRole('heading', { name: 'What would help' }).waitFor();
    const asked = () =>
      page.evaluate(async () => {
        const answer = await fetch('/api/v1/nodes/rushy-sluice-1/settings');
        const { requests } = (await answer.json()) as {
          requests: { id: string; answeredAt: string | null }[];
        };
        return requests[0];
      });
    const before = await asked();
    const ask = page.getByRole('button', { name: /^Ask for thrift until/ });
    await ask.waitFor({ timeout: 90_000 });
    await ask.click();
    // The node answers by itself: what was asked for is in force, by its own word.
    await page.getByText('In force, by the node’s own word').waitFor({ timeout: 90_000 });
    await waitFor('the node’s answer to this request', async () => {
      const last = await asked();
      return last !== undefined && last.id !== before?.id && last.answeredAt !== null;
    });
    await page.goto(`${demo.lines.web}/rounds`);
    await page.locator('h1').waitFor();
    expect(await page.locator('main').innerText()).toContain('Rushy Sluice');
    // What is planned here is on the screens of others a moment later, and none of them was loaded again. Nobody goes to
    // Cold Spout in the demo, so that the row and the head show this visit as the next.
    const others = [];
    for (const path of ['/', '/sites/cold-spout', '/rounds']) {
      const other = await page.context().newPage();
      await other.goto(demo.lines.web + path);
      await other.locator('h1').waitFor();
      await other.waitForTimeout(SETTLED_MS);
      await other.evaluate(() => document.body.setAttribute('data-as-loaded', ''));
      others.push(other);
    }
    const visitId = await page.evaluate(
      async (at) => {
        const answer = await fetch('/api/v1/rounds', {
          method: 'POST',
          headers: { 'content-type': 'application/json' },
          body: JSON.stringify({ siteIds: ['cold-spout'], at, why: 'A story.' }),
        });
        return ((await answer.json()) as { visits: { id: string }[] }).visits[0]?.id ?? '';
      },
      new Date(Date.now() + hoursAhead * HOUR_MS).toISOString(),
    );
    for (const other of others)
      await waitFor(
        `the visit to be on ${new URL(other.url()).pathname}`,
        () => other.locator(`[data-as-loaded] a[href="/visits/${visitId}"]`).first().isVisible(),
        { withinMs: 30_000 },
      );
    await page.context().close();
  });

  it('the builder comes from a new box to a node that is proved', async () => {
    const page = await pages.signedIn(options);
    const name = `Alder Carr ${screen}`;
    await page.goto(`${demo.lines.web}/setup`);
    await page.getByLabel('Name', { exact: true }).fill(name);
    await page.getByLabel('Latitude').fill('54.93');
    await page.getByLabel('Longitude').fill('-2.85');
    await page.getByLabel('Height above sea').fill('260');
    await page.getByLabel('Panel, W').fill('20');
    await page.getByLabel('Battery, Wh').fill('150');
    await page.getByRole('button', { name: 'Add site and node' }).click();
    await page.getByRole('heading', { name: `${name} is set up.` }).waitFor();
    const secret = await page.locator('pre').first().innerText();
    await page.locator('svg[role="img"], [role="img"]').first().waitFor();
    // Off-state draw is written down in the form; the rest waits for the node.
    await waitFor('one proof', async () => (await page.locator('li.proved').count()) === 1);

    const node = `alder-carr-${screen}`;
    const client = await mqtt.connectAsync(demo.lines.mqtt.url, {
      clientId: node,
      username: node,
      password: secret.trim(),
      protocolVersion: 4,
    });
    const reading = [
      { n: 'charge', u: '%EL', v: 71 },
      { n: 'batt_v', u: 'V', v: 13.2 },
      { n: 'panel_w', u: 'W', v: 4.2 },
      { n: 'signal', u: 'dBm', v: -81 },
    ];
    await client.publishAsync(`v1/${node}/up/live`, JSON.stringify(reading), { qos: 1 });
    // Message, harvest, clock, signal, sensors and off-state draw turn proved while the page stands open.
    await waitFor('the whole list', async () => (await page.locator('li.proved').count()) === 6, {
      withinMs: 20_000,
    });
    await client.endAsync();
    await page.context().close();
  });

  it('the analyst comes from a question to a file', async () => {
    const page = await pages.signedIn({ ...options, acceptDownloads: true });
    await page.goto(`${demo.lines.web}/data`);
    await page.getByLabel('Sites').selectOption({ label: 'Tarn Gill' });
    await page.getByRole('button', { name: 'How large?' }).click();
    await page.getByText(/^About [\d,]+ rows of 1 site/).waitFor();
    await page.getByRole('button', { name: 'Make it' }).click();
    const fetching = page.waitForEvent('download', { timeout: 60_000 });
    await page.getByRole('link', { name: 'Download' }).first().click({ timeout: 60_000 });
    const file = await (await fetching).path();
    const files = await readZip(readFileSync(file));
    // What answers the five questions of unit, zone, missing values, reason of gaps and position.
    for (const needed of ['observations.csv', 'gaps.csv', 'sites.csv', 'metrics.csv'])
      expect([...files.keys()]).toContain(needed);
    // Of a fleet that lives, not of one made up for a test of packages.
    const descriptor: unknown = JSON.parse(files.get('datapackage.json')?.toString('utf8') ?? '');
    const ajv = new Ajv({ allErrors: true, strictTypes: false });
    (addFormats as unknown as (instance: Ajv) => void)(ajv);
    const validate = ajv.compile(dataPackageProfile);
    expect(validate(descriptor), JSON.stringify(validate.errors)).toBe(true);
    await page.context().close();
  });
});

describe('all that was loaded', () => {
  it('came from the server itself, within the content security policy, without an error', () => {
    expect(pages.faults()).toEqual([]);
  });
});
