/// <reference lib="dom" />
/// <reference lib="dom.iterable" />
import { AxeBuilder } from '@axe-core/playwright';
import { DAY_MS } from '@duskline/domain';
import { waitFor } from '@duskline/test-harness';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { startDemoPages, type DemoPages } from './demo-pages.ts';
import { everyPage as pages } from './every-page.ts';

/** WCAG 2.2 at A and AA, as axe tags its rules. */
const WCAG = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];

let demo: DemoPages;
beforeAll(async () => {
  demo = await startDemoPages();
});
afterAll(async () => {
  await demo?.stop();
});
const signedIn: DemoPages['signedIn'] = (...asked) => demo.signedIn(...asked);
const open: DemoPages['open'] = (...asked) => demo.open(...asked);

describe.each(['light', 'dark'] as const)('in the %s theme', (colorScheme) => {
  let page: Page;
  beforeAll(async () => {
    page = await signedIn({ colorScheme, reducedMotion: 'reduce' });
  });

  it.each(pages)('%s keeps WCAG 2.2 AA as far as axe can tell', async (path, sign) => {
    await open(page, path, sign);
    const axe = new AxeBuilder({ page }).withTags(WCAG).setLegacyMode();
    // WCAG 2.2, 2.5.8: where marks stand on a map is essential, and the rows open the same sites.
    if (path.includes('as=map')) axe.disableRules('target-size');
    const { violations } = await axe.analyze();
    expect(
      violations.map(({ id, nodes }) => [id, nodes.map((node) => node.target.join(' '))]),
    ).toEqual([]);
  });

  it('a sensor is written down with its measuring range, and what stands open keeps WCAG 2.2 AA', async () => {
    await open(page, '/sites/tarn-gill', '#parts summary');
    const parts = page.locator('#parts');
    await parts.getByText('Write a part down').click();
    await parts.locator('details[open] select').first().selectOption('sensor');
    await parts.getByLabel('Maker and type').fill('Invented Works T2');
    await parts.getByLabel('Serial').fill(`T-${colorScheme}`);
    await parts.getByRole('button', { name: 'Add part' }).click();
    const row = parts.locator('tr', { hasText: `T-${colorScheme}` });
    await row.getByRole('button', { name: 'Limits: sensor Invented Works T2' }).click();
    await parts.getByText('None of its own.').waitFor();
    const test = (name: string) => parts.getByRole('group', { name, exact: true });
    const keep = parts.getByRole('button', { name: 'Keep these limits' });
    await test('Gross range: fails').getByLabel('from, °C').fill('-20');
    await test('Gross range: fails').getByLabel('to, °C').fill('50');
    await test('Gross range: suspect').getByLabel('from, °C').fill('-30');
    await test('Gross range: suspect').getByLabel('to, °C').fill('40');
    await test('Spike').getByLabel('suspect over, °C').fill('1.5');
    await keep.click();
    // The suspect range reaches out of the other: said beside it, and the keyboard stands there.
    await test('Gross range: suspect').getByRole('alert').getByText('−20 to 50\u00a0°C').waitFor();
    expect(await page.evaluate(() => document.activeElement?.getAttribute('aria-invalid'))).toBe(
      'true',
    );
    await parts.getByRole('button', { name: 'Back to the default: Gross range: suspect' }).click();
    await test('Flat line').getByLabel('Do not make this test').check();
    await keep.click();
    await parts.getByText('Kept. The readings they hold for are tested again.').waitFor();
    await parts
      .getByText(/fails outside −20 to 50\s°C; suspect more than 1\.5\s°C.*standing still is not/)
      .waitFor();
    await page.getByText('Limits of readings', { exact: true }).click();
    await page.getByRole('heading', { name: 'For this site' }).waitFor();
    // What is typed outlives news of the site, here of a visit.
    const ofSite = page.locator('details', { hasText: 'Limits of readings' }).getByRole('group');
    const spikes = ofSite.filter({ hasText: 'Spike' });
    // Each form comes with its own answer: while the node's stands there alone, it is the first.
    await waitFor('the forms of site and node', async () => (await spikes.count()) === 2);
    const typed = spikes.first().getByLabel('suspect over, V');
    await typed.fill('0.75');
    const visitId = await page.evaluate(
      async (at) => {
        const answer = await fetch('/api/v1/rounds', {
          method: 'POST',
          headers: { 'content-type': 'application/json' },
          body: JSON.stringify({ siteIds: ['tarn-gill'], at, why: 'News.' }),
        });
        return ((await answer.json()) as { visits: { id: string }[] }).visits[0]?.id ?? '';
      },
      new Date(Date.now() + (colorScheme === 'light' ? 3 : 2) * DAY_MS).toISOString(),
    );
    await page.locator(`a[href="/visits/${visitId}"]`).first().waitFor();
    expect(await typed.inputValue()).toBe('0.75');
    const { violations } = await new AxeBuilder({ page }).withTags(WCAG).setLegacyMode().analyze();
    expect(
      violations.map(({ id, nodes }) => [id, nodes.map((node) => node.target.join(' '))]),
    ).toEqual([]);
    await page.setViewportSize({ width: 320, height: 640 });
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(
      320,
    );
    await page.setViewportSize({ width: 1280, height: 720 });
  });
});

describe('on a screen 320 px wide', () => {
  // WCAG 2.2, success criterion 1.4.10: no scrolling in two dimensions at 320 CSS px.
  it('no page is wider than the screen', async () => {
    const page = await signedIn({ viewport: { width: 320, height: 640 } });
    const wide: unknown[] = [];
    for (const [path, sign] of pages) {
      await open(page, path, sign);
      const widthPx = await page.evaluate(() => document.documentElement.scrollWidth);
      if (widthPx > 320) wide.push([path, widthPx]);
    }
    // The form that plans a round opens within the page, too.
    await open(page, '/rounds', 'h1');
    await page.getByText('Plan this round').first().click();
    await page.getByRole('button', { name: 'Plan this round' }).first().waitFor();
    const widthPx = await page.evaluate(() => document.documentElement.scrollWidth);
    if (widthPx > 320) wide.push(['/rounds, planning', widthPx]);
    expect(wide).toEqual([]);
  });

  it('every mark of the map has its name beside it, or stands in the list below', async () => {
    const page = await signedIn({ viewport: { width: 320, height: 640 } });
    await open(page, '/?as=map', '.map a[href="/sites/tarn-gill"]');
    const hrefs = (links: Element[]) => links.map((link) => link.getAttribute('href'));
    const listed = await page.locator('.rest a').evaluateAll(hrefs);
    const unnamed = page.locator('.map a:not(:has(.name:not(.unseen)))');
    expect(await page.locator('.map a').count()).toBeGreaterThan(15);
    expect(listed).toEqual(expect.arrayContaining(await unnamed.evaluateAll(hrefs)));
  });
});

describe('by keyboard alone', () => {
  it('finds a site by its name and opens it', async () => {
    const page = await signedIn({});
    await page.keyboard.press('/');
    await page.keyboard.type('tarn');
    await waitFor('one row', async () => (await page.locator('tr[data-site]').count()) === 1);
    // The address follows what is typed by some moments, and no letter of it may be lost on the way.
    await waitFor('the whole word in the address', () =>
      Promise.resolve(new URL(page.url()).searchParams.get('q') === 'tarn'),
    );
    expect(await page.getByRole('searchbox').first().inputValue()).toBe('tarn');
    await page.locator('tr[data-site="tarn-gill"] [data-row-link]').focus();
    await page.keyboard.press('Enter');
    await page.waitForURL(/\/sites\/tarn-gill/);
  });

  it('goes from row to row, to the last and back to the first', async () => {
    const page = await signedIn({});
    const focused = () =>
      page.evaluate(
        () => document.activeElement?.closest('tr')?.getAttribute('aria-rowindex') ?? '',
      );
    await page.locator('[data-row-link]').first().focus();
    const rows = await page.locator('tr[data-site]').count();
    await page.keyboard.press('ArrowDown');
    await waitFor('the second row', async () => (await focused()) === '3');
    await page.keyboard.press('End');
    await waitFor('the last row', async () => (await focused()) === String(rows + 1));
    await page.keyboard.press('Home');
    await waitFor('the first row', async () => (await focused()) === '2');
  });

  it('reads what a state means where its word stands, and where more is said', async () => {
    const page = await signedIn({});
    const said = page.getByRole('status').filter({ hasText: 'in good order for want of charge' });
    const word = page.getByRole('button', { name: 'dark as designed', exact: true }).last();
    // What a screen reader says after the word.
    expect(await word.getAttribute('title')).toContain('in good order for want of charge');
    await page.keyboard.press('Tab');
    await word.focus();
    await said.waitFor();
    await page.keyboard.press('Escape');
    await said.waitFor({ state: 'hidden' });
    await word.click();
    await said.getByRole('link').click();
    await page.waitForURL(/\/help#state-dark-as-designed/);
    await page.locator('#state-dark-as-designed').waitFor();
  });

  it('works out a size: from a site’s own parts to an answer with its worst month', async () => {
    const page = await signedIn({});
    await open(page, '/sizing?site=tarn-gill', 'form');
    await page.getByRole('button', { name: 'Work it out' }).focus();
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { name: 'The design, month by month' }).waitFor();
    await page.getByText('The same as a table').first().focus();
    await page.keyboard.press('Enter');
    await page.getByRole('rowheader', { name: 'December' }).first().waitFor();
  });
});

describe('a visit', () => {
  it('calls a planned visit off from the list of Rounds, with the reason', async () => {
    const page = await signedIn({});
    // A site that nobody means to go to: elsewhere the button speaks of another visit.
    await open(page, '/rounds', 'tr[data-site="marl-beck"]');
    const row = page.locator('tr[data-site="marl-beck"]');
    await row.getByRole('button', { name: 'Plan a visit: Marl Beck' }).click();
    const form = page.locator('tr.form form');
    await form.waitFor();
    // Once is enough: the button of the row says it.
    expect(await page.locator('tr.form').getByText('Plan a visit', { exact: true }).count()).toBe(
      0,
    );
    await form.getByLabel('Why (needed)').fill('To be called off again.');
    await form.getByRole('button', { name: 'Plan the visit' }).click();
    const planned = page.locator('li', { hasText: 'To be called off again.' }).first();
    await planned.getByText('Call it off').click();
    await planned.getByRole('button', { name: 'Call it off' }).click();
    await planned.getByText('Say why nobody goes.').waitFor();
    await planned.getByLabel('Why nobody goes').fill('The ford is in flood.');
    await planned.getByRole('button', { name: 'Call it off' }).click();
    const says = page.getByText('The visit to Marl Beck was called off: The ford is in flood.');
    await says.waitFor();
    expect(await says.evaluate((node) => node === document.activeElement)).toBe(true);
    await page.close();
  });

  it('keeps what was typed into its form through news of the site, and warns of a second one', async () => {
    const page = await signedIn({});
    await open(page, '/sites/peat-hag', 'h1');
    await page.getByText('Plan a visit', { exact: true }).click();
    const why = page.getByLabel('Why (needed)');
    await why.fill('Typed before the news.');
    const at = new Date(Date.now() + 5 * DAY_MS).toISOString();
    const visitId = await page.evaluate(async (when) => {
      const answer = await fetch('/api/v1/rounds', {
        method: 'POST',
        headers: { 'content-type': 'application/json' },
        body: JSON.stringify({ siteIds: ['peat-hag'], at: when, why: 'News.' }),
      });
      return ((await answer.json()) as { visits: { id: string }[] }).visits[0]?.id ?? '';
    }, at);
    await page.locator(`a[href="/visits/${visitId}"]`).first().waitFor();
    expect(await why.inputValue()).toBe('Typed before the news.');
    // The form is opened anew: it knows of the visit, and refuses a time that is over.
    const summary = page.getByText('Plan another visit; one is planned already', { exact: true });
    await summary.click();
    await summary.click();
    await page.getByText('has a visit here planned already').waitFor();
    await page.getByLabel(/^Set out/).fill('2026-01-05T09:00');
    await page.getByText('That time is over: choose one to come.').waitFor();
    await page.close();
  });
});

describe('all that was loaded', () => {
  it('came from the server itself, within the content security policy', async () => {
    expect(demo.faults()).toEqual([]);
  });
});
