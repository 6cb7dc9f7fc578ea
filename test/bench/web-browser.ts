/// <reference lib="dom" />
/// <reference lib="dom.iterable" />
import { gzipSync } from 'node:zlib';
import { newTestContext } from '@duskline/test-harness';
import type { Browser, BrowserContext, Page } from 'playwright-core';

declare global {
  interface Window {
    bench: {
      rowsAtMs?: number;
      readonly interactions: Map<number, number>;
      readonly longTasks: number[];
      readonly frames: number[];
      drawnAtMs: number;
    };
  }
}

export interface WebAccount {
  readonly email: string;
  readonly password: string;
}
type Kept = Awaited<ReturnType<BrowserContext['storageState']>>;

/** What a page notes of itself, from before its first script on. Times in ms since its navigation. */
function takeNotes(): void {
  const notes: Window['bench'] = {
    interactions: new Map(),
    longTasks: [],
    frames: [],
    drawnAtMs: 0,
  };
  window.bench = notes;
  const each = (type: string, more: object, take: (entry: PerformanceEntry) => void): void => {
    const observer = new PerformanceObserver((list) => {
      for (const entry of list.getEntries()) take(entry);
    });
    observer.observe({ type, buffered: true, ...more });
  };
  // Event Timing, W3C: an interaction lasts from the input to the next paint; 16 ms is the least that is told.
  each('event', { durationThreshold: 16 }, (entry) => {
    const { interactionId, duration } = entry as PerformanceEventTiming & { interactionId: number };
    if (interactionId > 0)
      notes.interactions.set(
        interactionId,
        Math.max(duration, notes.interactions.get(interactionId) ?? 0),
      );
  });
  each('longtask', {}, ({ duration }) => notes.longTasks.push(duration));
  const look = (atMs: number): void => {
    notes.frames.push(atMs);
    // A frame later than the one that first had a row: then it has been painted.
    if (notes.rowsAtMs === undefined && document.querySelector('tr[data-site]') !== null) {
      notes.rowsAtMs = Infinity;
      requestAnimationFrame(() => (notes.rowsAtMs = performance.now()));
    }
    requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
  // eslint-disable-next-line @typescript-eslint/unbound-method -- applied to its own canvas below
  const stroke = CanvasRenderingContext2D.prototype.stroke;
  CanvasRenderingContext2D.prototype.stroke = function (
    this: CanvasRenderingContext2D,
    ...path: []
  ) {
    notes.drawnAtMs = performance.now();
    Reflect.apply(stroke, this, path);
  };
}

/** Signs in once; what the browser keeps of it opens every further context. */
export async function signIn(browser: Browser, web: string, account: WebAccount): Promise<Kept> {
  const context = await newTestContext(browser, {});
  const page = await context.newPage();
  await page.goto(`${web}/sign-in`);
  await page.getByLabel('E-mail').fill(account.email);
  await page.getByLabel('Password').fill(account.password);
  await page.locator('form button').click();
  await page.locator('tr[data-site]').first().waitFor();
  const kept = await context.storageState();
  await context.close();
  return kept;
}

export async function openPage(
  browser: Browser,
  kept: Kept,
  viewport = { width: 1440, height: 900 },
): Promise<Page> {
  const context = await newTestContext(browser, { storageState: kept, viewport });
  // The loader of TypeScript wraps named functions in a helper that only its own modules know.
  const content = `{ const __name = (it) => it; (${takeNotes.toString()})(); }`;
  await context.addInitScript({ content });
  return await context.newPage();
}

/** @returns ms from the navigation until rows are painted, nothing in the browser's cache; and the scripts it took */
export async function firstLoad(browser: Browser, kept: Kept, web: string) {
  const page = await openPage(browser, kept);
  const scripts: Promise<number>[] = [];
  page.on('response', (answer) => {
    const isScript = /javascript/.test(answer.headers()['content-type'] ?? '');
    if (isScript && answer.request().serviceWorker() === null)
      scripts.push(answer.body().then((body) => gzipSync(body).length));
  });
  await page.goto(web);
  await page.waitForFunction(() => Number.isFinite(window.bench.rowsAtMs ?? Infinity));
  const shown = await page.evaluate(() => ({
    loadMs: window.bench.rowsAtMs ?? Infinity,
    wireBytes: performance
      .getEntriesByType('resource')
      .filter(({ name }) => name.endsWith('.js'))
      .reduce((sum, entry) => sum + (entry as PerformanceResourceTiming).encodedBodySize, 0),
  }));
  const gzipBytes = (await Promise.all(scripts)).reduce((sum, bytes) => sum + bytes, 0);
  await page.context().close();
  return { ...shown, gzipBytes };
}

export const quantile = (values: readonly number[], share: number): number => {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.floor(sorted.length * share))] ?? Number.NaN;
};

/** What a reader does, one thing after the other; each counts, also those too short to be told (as 16 ms). */
export async function interact(page: Page, acts: readonly (() => Promise<void>)[]) {
  let done = 0;
  const before = await page.evaluate(() => window.bench.interactions.size);
  for (const act of acts) {
    await act();
    done += 1;
    await page.waitForTimeout(250);
  }
  const told = (await page.evaluate(() => [...window.bench.interactions.values()])).slice(before);
  const all = [...told, ...Array<number>(Math.max(0, done - told.length)).fill(16)];
  return { count: all.length, p95Ms: quantile(all, 0.95), worstMs: Math.max(...all), all };
}

/** What is done on the fleet page: search, sort, group, move by keyboard, the key of the drawing. */
export function fleetActs(page: Page): readonly (() => Promise<void>)[] {
  const key = (name: string) => async () => await page.keyboard.press(name);
  return [
    key('/'),
    ...[...'moor 1'].map((letter) => key(letter)),
    ...Array.from({ length: 6 }, () => key('Backspace')),
    async () => await page.locator('[data-row-link]').first().click({ trial: true }),
    async () => await page.locator('[data-row-link]').first().focus(),
    ...Array.from({ length: 10 }, () => key('ArrowDown')),
    key('End'),
    key('Home'),
    ...['name', 'charge', 'state', 'name', 'charge', 'state'].map((_head, i) => async () => {
      await page
        .locator('thead th button, thead th a')
        .nth(i % 3)
        .click();
    }),
  ];
}

/** What is done in the explorer: zoom, move, read out. */
export function explorerActs(page: Page): readonly (() => Promise<void>)[] {
  return [
    '+',
    '+',
    'ArrowLeft',
    'ArrowLeft',
    '-',
    'Shift+ArrowLeft',
    '+',
    '+',
    'Shift+ArrowRight',
    '-',
    '-',
    'End',
    'Home',
  ].map((name) => async () => await page.keyboard.press(name));
}

/** @returns ms from the key press until the curve asked for anew is on the canvas */
export async function zoomOnce(page: Page, key: string): Promise<number> {
  const answered = page.waitForResponse((answer) => answer.url().includes('/readings?'));
  const startedMs = await page.evaluate(() => performance.now());
  await page.keyboard.press(key);
  await answered;
  const paper = page.locator('.paper[aria-busy="false"]');
  await paper.waitFor();
  await page.evaluate(
    () => new Promise((resolve) => requestAnimationFrame(() => setTimeout(resolve))),
  );
  const drawnMs = await page.evaluate(() => window.bench.drawnAtMs);
  await page.waitForTimeout(300);
  return drawnMs - startedMs;
}

/** How the page fares for some seconds: its longest stretch without a frame, what it heard, how long it was busy. */
export async function watchFor(page: Page, ms: number) {
  const since = await page.evaluate(() => ({
    frames: window.bench.frames.length,
    tasks: window.bench.longTasks.length,
  }));
  await page.waitForTimeout(ms);
  return await page.evaluate(
    ([frames, tasks]) => {
      const drawn = window.bench.frames.slice(frames);
      const gaps = drawn.slice(1).map((atMs, i) => atMs - (drawn[i] ?? atMs));
      const long = window.bench.longTasks.slice(tasks);
      return {
        frames: drawn.length,
        longestGapMs: Math.max(0, ...gaps),
        busyMs: long.reduce((sum, one) => sum + one, 0),
        gaps,
      };
    },
    [since.frames, since.tasks] as const,
  );
}
