import { newTestContext } from '@duskline/test-harness';
import type { Browser, BrowserContextOptions, Page } from 'playwright-core';
import type { DemoLines } from './demo-process.ts';

export interface WatchedPages {
  /**
   * A page of its own profile, signed in as the keeper of the demo, on the fleet.
   * @param web  where the page is asked for, if not at the server itself
   */
  readonly signedIn: (options: BrowserContextOptions, web?: string) => Promise<Page>;
  /** What went wrong on all of them: requests elsewhere, what the content security policy refused, errors of scripts. */
  readonly faults: () => readonly string[];
}

/** Pages that are watched while a story is played on them. */
export function watchPages(browser: Browser, lines: DemoLines): WatchedPages {
  const faults: string[] = [];
  return {
    faults: () => faults,
    async signedIn(options, web = lines.web) {
      const own = new URL(web);
      const context = await newTestContext(browser, options);
      const page = await context.newPage();
      page.on('request', (request) => {
        const url = new URL(request.url());
        if (/^(https?|wss?):$/.test(url.protocol) && url.host !== own.host)
          faults.push(`asked ${url.href}`);
      });
      page.on('console', (message) => {
        if (message.text().includes('Content Security Policy')) faults.push(message.text());
      });
      page.on('pageerror', (error) => faults.push(String(error)));
      await page.goto(`${web}/sign-in`);
      await page.getByLabel('E-mail').fill(lines.email);
      await page.getByLabel('Password').fill(lines.password);
      await page.locator('form button').click();
      await page.locator('tr[data-site]').first().waitFor();
      return page;
    },
  };
}
