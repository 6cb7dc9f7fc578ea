import type { Browser, BrowserContext, BrowserContextOptions } from 'playwright-core';

/**
 * A browser profile of one test: British English, so that dates are the same everywhere, and a time zone that is not UTC
 * in summer, so that mixing the two shows.
 */
export async function newTestContext(
  browser: Browser,
  options: BrowserContextOptions = {},
): Promise<BrowserContext> {
  return await browser.newContext({
    locale: 'en-GB',
    timezoneId: 'Europe/London',
    viewport: { width: 1280, height: 800 },
    ...options,
  });
}
