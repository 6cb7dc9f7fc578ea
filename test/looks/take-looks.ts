import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { freePort, launchBrowser, newTestContext } from '@duskline/test-harness';
import { startDemo } from '../e2e/demo-process.ts';
import { everyPage } from '../e2e/every-page.ts';

/**
 * Pictures of every page of the demo, on a phone and on a desk, by day and by night, to be looked at by people:
 * `npm run looks -- FOLDER [part of an address …]`. With DUSKLINE_LOOKS_AT="url email password" it takes a demo that runs.
 * Two pages are printed as well (fleet, report).
 */
const [folder, ...parts] = process.argv.slice(2);
if (folder === undefined) {
  process.stderr.write('Say the folder for the pictures: npm run looks -- FOLDER\n');
  process.exit(1);
}
const widths = [
  { name: 'phone', viewport: { width: 390, height: 844 } },
  { name: 'desk', viewport: { width: 1440, height: 900 } },
] as const;
const printed = ['/', '/data/report'];
const wanted = everyPage.filter(
  ([path]) => parts.length === 0 || parts.some((part) => path.includes(part) || part === path),
);

mkdirSync(folder, { recursive: true });
const dataDir = mkdtempSync(join(tmpdir(), 'duskline-looks-'));
const [web, email, password] = process.env['DUSKLINE_LOOKS_AT']?.split(' ') ?? [];
const demo =
  web === undefined
    ? await startDemo({
        DUSKLINE_DATA_DIR: dataDir,
        DUSKLINE_HTTP_PORT: String(await freePort()),
        DUSKLINE_MQTT_PORT: String(await freePort()),
      })
    : undefined;
const at = demo?.lines ?? { web: web ?? '', email: email ?? '', password: password ?? '' };
const browser = await launchBrowser();
try {
  for (const colorScheme of ['light', 'dark'] as const)
    for (const { name, viewport } of widths) {
      const context = await newTestContext(browser, {
        viewport,
        colorScheme,
        reducedMotion: 'reduce',
        serviceWorkers: 'block',
      });
      const page = await context.newPage();
      const take = async (path: string, more: string) => {
        const file = `${path.replace(/[^a-z0-9]+/g, '_') || '_'}-${name}-${colorScheme}${more}.png`;
        await page.screenshot({ path: join(folder, file), fullPage: true });
        process.stdout.write(`${file}\n`);
      };
      await page.goto(`${at.web}/sign-in`);
      await page.locator('form button').waitFor();
      if (parts.length === 0) await take('/sign-in', '');
      await page.getByLabel('E-mail').fill(at.email);
      await page.getByLabel('Password').fill(at.password);
      await page.locator('form button').click();
      await page.locator('tr[data-site]').first().waitFor();
      for (const [path, sign] of wanted) {
        await page.goto(at.web + path);
        await page.locator(sign).first().waitFor();
        // Slow questions of a page come after its first words.
        await page.waitForLoadState('networkidle').catch(() => undefined);
        await page.waitForTimeout(700);
        await take(path, '');
        if (name === 'desk' && colorScheme === 'light' && printed.includes(path)) {
          await page.emulateMedia({ media: 'print' });
          await page.setViewportSize({ width: 1040, height: 735 });
          await take(path, '-print');
          await page.setViewportSize(viewport);
          await page.emulateMedia({ media: 'screen' });
        }
      }
      await context.close();
    }
} finally {
  await browser.close();
  await demo?.interrupt();
  rmSync(dataDir, { recursive: true, force: true });
}
