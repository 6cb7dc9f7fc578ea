import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { launchBrowser, newTestContext } from '@duskline/test-harness';

/**
 * What a stranger meets who has three things to find out on the screen of a demo that runs: is a silent site mine to go to, what
 * does an alert want of me, what is in a download. Prints the words they would read, with how long reading them aloud takes,
 * and takes the pictures: `DUSKLINE_LOOKS_AT="url email password" … strangers.ts FOLDER`. For people to judge; asserts nothing.
 */
const [folder = '.'] = process.argv.slice(2);
const [web = '', email = '', password = ''] = process.env['DUSKLINE_LOOKS_AT']?.split(' ') ?? [];
/** Words a minute of somebody reading aloud (common practice, no source). */
const WORDS_A_MINUTE = 150;
const seconds = (text: string): number =>
  Math.round((text.split(/\s+/).filter(Boolean).length / WORDS_A_MINUTE) * 60);
const say = (line: string) => process.stdout.write(`${line}\n`);

mkdirSync(folder, { recursive: true });
const browser = await launchBrowser();
try {
  const context = await newTestContext(browser, { viewport: { width: 390, height: 844 } });
  const page = await context.newPage();
  await page.goto(`${web}/sign-in`);
  await page.getByLabel('E-mail').fill(email);
  await page.getByLabel('Password').fill(password);
  await page.locator('form button').click();
  await page.locator('tr[data-site]').first().waitFor();

  for (const site of ['long-moss', 'brackwell-ford']) {
    await page.goto(`${web}/sites/${site}`);
    await page.locator('h1').waitFor();
    await page.locator('#causes').waitFor();
    await page.waitForTimeout(2500);
    await page.screenshot({ path: join(folder, `silent-${site}.png`) });
    const head = await page.locator('main').innerText();
    say(`--- ${site}: the first screen and the causes`);
    say(head.slice(0, 2200));
  }
  await page.goto(`${web}/watch`);
  await page.locator('article').first().waitFor();
  for (const article of await page.locator('article').all()) {
    const told = (await article.locator('h3, h3 + p, dl').allInnerTexts()).join(' ');
    say(`--- an alert, ${seconds(told)} s to read aloud:\n${told}`);
  }
  await page.screenshot({ path: join(folder, 'alerts.png') });
  await context.close();
} finally {
  await browser.close();
}
