/// <reference lib="dom" />
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { launchBrowser } from '@duskline/test-harness';
import type { Page } from 'playwright-core';
import type { DemoProcess } from './demo-process.ts';
import { startReadyDemo } from './ready-demo.ts';
import { watchPages, type WatchedPages } from './watched-pages.ts';

/** A demo with its past told, and a browser to open its pages in. */
export interface DemoPages extends WatchedPages {
  readonly lines: DemoProcess['lines'];
  /** Goes there, and waits until `sign` stands on the page. */
  readonly open: (page: Page, path: string, sign: string, web?: string) => Promise<void>;
  readonly stop: () => Promise<void>;
}

export async function startDemoPages(): Promise<DemoPages> {
  const folder = mkdtempSync(join(tmpdir(), 'duskline-pages-'));
  const demo = await startReadyDemo(folder);
  const { lines } = demo;
  const browser = await launchBrowser();
  return {
    lines,
    ...watchPages(browser, lines),
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
