/// <reference lib="dom" />
/// <reference lib="dom.iterable" />
import { freePort, waitFor } from '@duskline/test-harness';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openBreakableLine } from './breakable-line.ts';
import { startDemoPages, type DemoPages } from './demo-pages.ts';

let demo: DemoPages;
beforeAll(async () => {
  demo = await startDemoPages();
});
afterAll(async () => {
  await demo?.stop();
});
const signedIn: DemoPages['signedIn'] = (...asked) => demo.signedIn(...asked);
const open: DemoPages['open'] = (...asked) => demo.open(...asked);

describe('without coverage', () => {
  it('shows what was known last, and says from when', async () => {
    const line = await openBreakableLine(demo.lines.web, await freePort());
    const page = await signedIn({}, line.url);
    // The worker takes over the page once it has the app’s files; then each answer is kept.
    await page.evaluate(async () => {
      await navigator.serviceWorker.ready;
    });
    await open(page, '/sites/tarn-gill', 'h1', line.url);
    await open(page, '/', 'tr[data-site="tarn-gill"]', line.url);
    await waitFor('the answers to be kept', () =>
      page.evaluate(async () => {
        const kept = await (await caches.open('duskline-last-known')).keys();
        return kept.some(({ url }) => url.endsWith('/fleet'));
      }),
    );
    await line.cut();
    await page.reload();
    await page.locator('tr[data-site="tarn-gill"]').waitFor();
    await page.getByText(/no coverage · last known, from \w{3} \d\d:\d\d/).waitFor();
    await page.locator('tr[data-site="tarn-gill"] [data-row-link]').click();
    await page.waitForURL(/tarn-gill/);
    await page.locator('h1').waitFor();
  });

  it('makes a visit: read, set out, ticked and reported without a line, recorded once there is one', async () => {
    const visit = '/visits/d0000000-0000-4000-8000-000000000004';
    const port = await freePort();
    const line = await openBreakableLine(demo.lines.web, port);
    const page = await signedIn({}, line.url);
    await page.evaluate(async () => {
      await navigator.serviceWorker.ready;
    });
    // Rounds asks ahead for the visits that are planned: this page itself was never opened.
    await open(page, '/rounds', 'tr[data-site="tarn-gill"]', line.url);
    await waitFor('the visit to be kept', () =>
      page.evaluate(async (path) => {
        const kept = await (await caches.open('duskline-last-known')).keys();
        return kept.some(({ url }) => url.endsWith(path));
      }, visit),
    );
    await line.cut();
    await page.goto(line.url + visit);
    const setOut = page.getByRole('button', { name: 'I set out now' });
    await setOut.waitFor();
    expect(await setOut.isDisabled()).toBe(true);
    for (const caution of await page.locator('label.caution input').all()) await caution.check();
    // Planned for later than today: nobody guesses when they are back.
    const inThreeHours = await page.evaluate(() => {
      const at = new Date(Date.now() + 3 * 3_600_000);
      at.setMinutes(at.getMinutes() - at.getTimezoneOffset());
      return at.toISOString().slice(0, 16);
    });
    await page.getByLabel(/^Back by/).fill(inThreeHours);
    await setOut.focus();
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { level: 1, name: /is out at Rushy Sluice/ }).waitFor();
    await page.getByLabel('Photograph the site as you find it.').check();
    await page.getByText(/2 steps wait on this device/).waitFor();
    await page.reload();
    await page.getByRole('heading', { level: 1, name: /is out at Rushy Sluice/ }).waitFor();
    expect(await page.getByLabel('Photograph the site as you find it.').isChecked()).toBe(true);
    await page.getByLabel('mended a cable or connector').check();
    await page.getByLabel('What you found').fill('The connector was corroded through.');
    await page.getByRole('button', { name: 'I’m back: record the visit' }).click();
    await page.getByText(/3 steps wait on this device/).waitFor();

    const mended = await openBreakableLine(demo.lines.web, port);
    await page.getByText('All that you ticked and wrote is recorded.').waitFor({ timeout: 60_000 });
    const kept = await page.evaluate(async (path) => {
      const answer = await fetch(`/api/v1${path}`);
      return ((await answer.json()) as { visit: object }).visit;
    }, visit);
    expect(kept).toMatchObject({
      state: 'done',
      ticked: ['first-1'],
      deeds: ['mended-cable'],
      found: 'The connector was corroded through.',
    });
    await page.close();
    await mended.cut();
  });

  it('begins a visit at the box, known to this device only until there is a line again', async () => {
    const port = await freePort();
    const line = await openBreakableLine(demo.lines.web, port);
    const page = await signedIn({}, line.url);
    await page.evaluate(async () => {
      await navigator.serviceWorker.ready;
    });
    await open(page, '/visits/at/tarn-gill', 'h1', line.url);
    await page.reload();
    await waitFor('the sheet to be kept', () =>
      page.evaluate(async () => {
        const kept = await (await caches.open('duskline-last-known')).keys();
        return kept.some(({ url }) => url.endsWith('/sites/tarn-gill/field-sheet'));
      }),
    );
    await line.cut();
    await page.reload();
    await page.getByRole('button', { name: 'Begin a visit' }).click();
    await page.getByRole('button', { name: 'Begin it now' }).click();
    await page.getByRole('heading', { level: 1, name: /means to set out for Tarn Gill/ }).waitFor();
    await page.getByText('Call it off').first().click();
    await page.getByLabel('Why nobody goes').fill('The bog is under water.');
    await page.getByRole('button', { name: 'Call it off' }).click();
    await page.getByText(/2 steps wait on this device/).waitFor();
    const path = new URL(page.url()).pathname;

    const mended = await openBreakableLine(demo.lines.web, port);
    await page.getByText('All that you ticked and wrote is recorded.').waitFor({ timeout: 60_000 });
    const kept = await page.evaluate(async (of) => {
      const answer = await fetch(`/api/v1${of}`);
      return ((await answer.json()) as { visit: object }).visit;
    }, path);
    expect(kept).toMatchObject({
      siteId: 'tarn-gill',
      state: 'called-off',
      calledOffWhy: 'The bog is under water.',
    });
    await page.close();
    await mended.cut();
  });

  it('goes where its reader clicked, though news came before the page did', async () => {
    const port = await freePort();
    const line = await openBreakableLine(demo.lines.web, port);
    const page = await signedIn({}, line.url);
    await page.getByText('live', { exact: true }).waitFor();
    let letPass = (): void => undefined;
    const held = new Promise<void>((resolve) => {
      letPass = resolve;
    });
    await page.route('**/api/v1/sites/tarn-gill', async (route) => {
      await held;
      await route.continue();
    });
    const asked = page.waitForRequest('**/api/v1/sites/tarn-gill');
    await page.locator('tr[data-site="tarn-gill"] [data-row-link]').click();
    await asked;
    // A line that comes back is news for all that is shown: the page asks for the whole fleet again.
    await line.cut();
    await page.getByText(/not live$/).waitFor();
    const mended = await openBreakableLine(demo.lines.web, port);
    await page.getByText('live', { exact: true }).waitFor();
    await page.waitForTimeout(1_000);
    letPass();
    await page.waitForURL(`${line.url}/sites/tarn-gill`);
    await page.getByRole('heading', { level: 1, name: /^Tarn Gill/ }).waitFor();
    await page.close();
    await mended.cut();
  });

  it('keeps nothing on the device after signing out', async () => {
    const page = await signedIn({});
    await page.evaluate(async () => {
      await navigator.serviceWorker.ready;
    });
    await open(page, '/', 'tr[data-site="tarn-gill"]');
    await page.getByRole('button', { name: 'Sign out' }).click();
    await page.waitForURL(/sign-in/);
    expect(
      await page.evaluate(async () => {
        const has = await caches.has('duskline-last-known');
        return has ? (await (await caches.open('duskline-last-known')).keys()).length : 0;
      }),
    ).toBe(0);
  });
});

describe('all that was loaded', () => {
  it('came from the server itself, within the content security policy', async () => {
    expect(demo.faults()).toEqual([]);
  });
});
