/// <reference lib="dom" />
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { launchBrowser, newTestContext } from '@duskline/test-harness';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import type { DemoProcess } from './demo-process.ts';
import { startReadyDemo } from './ready-demo.ts';

/** A demo with its past told, and a browser to open its pages in. */
export interface DemoPages {
  readonly lines: DemoProcess['lines'];
  readonly browser: Browser;
  readonly contexts: BrowserContext[];
  /** Requests to another origin, and what the content security policy refused, of all pages. */
  readonly strayed: string[];
  readonly refused: string[];
  /** A page of its own, signed in as who set the demo up. */
  readonly signedIn: (options: Parameters<typeof newTestContext>[1], web?: string) => Promise<Page>;
  /** Goes there, and waits until `sign` stands on the page. */
  readonly open: (page: Page, path: string, sign: string, web?: string) => Promise<void>;
  readonly stop: () => Promise<void>;
}

export async function startDemoPages(): Promise<DemoPages> {
  const folder = mkdtempSync(join(tmpdir(), 'duskline-pages-'));
  const demo = await startReadyDemo(folder);
  const { lines } = demo;
  const browser = await launchBrowser();
  const contexts: BrowserContext[] = [];
  const strayed: string[] = [];
  const refused: string[] = [];

  return {
    ...{ lines, browser, contexts, strayed, refused },
    async signedIn(options, web = lines.web) {
      const context = await newTestContext(browser, options);
      contexts.push(context);
      const page = await context.newPage();
      page.on('request', (request) => {
        const url = new URL(request.url());
        const own = new URL(web);
        if (/^(https?|wss?):$/.test(url.protocol) && url.host !== own.host) strayed.push(url.href);
      });
      page.on('console', (message) => {
        if (message.text().includes('Content Security Policy')) refused.push(message.text());
      });
      await page.goto(`${web}/sign-in`);
      await page.getByLabel('E-mail').fill(lines.email);
      await page.getByLabel('Password').fill(lines.password);
      await page.locator('form button').click();
      await page.locator('tr[data-site="tarn-gill"]').waitFor();
      return page;
    },
    async open(page, path, sign, web = lines.web) {
      await page.goto(web + path);
      await page.locator(sign).first().waitFor();
    },
    async stop() {
      await browser.close();
      await demo.interrupt();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}
