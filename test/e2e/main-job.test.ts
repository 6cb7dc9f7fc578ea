import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import type { QuarantineJson, SiteJson, SiteListJson } from '@duskline/contract';
import { freePort, launchBrowser, newTestContext, waitFor } from '@duskline/test-harness';
import mqtt from 'mqtt';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { startDemo, type DemoProcess } from './demo-process.ts';
import { hasMosquittoPub, hasPaho, publishWithPaho, runPrinted } from './publish-by-hand.ts';

/** A reading is on the page within this. Source: the project's own promise, "publish → on the screen". */
const ON_PAGE_MS = 2000;

let folder: string;
let env: Record<string, string>;
let demo: DemoProcess;
let browser: Browser;
let context: BrowserContext;
let page: Page;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'duskline-e2e-'));
  env = {
    DUSKLINE_DATA_DIR: folder,
    DUSKLINE_HTTP_PORT: String(await freePort()),
    DUSKLINE_MQTT_PORT: String(await freePort()),
  };
  demo = await startDemo(env);
  console.log(`demo ready after ${demo.lines.readyAfterS} s`);
  browser = await launchBrowser();
  context = await newTestContext(browser, { viewport: { width: 1440, height: 900 } });
  page = await context.newPage();
});
afterAll(async () => {
  await browser?.close();
  await demo?.interrupt();
  rmSync(folder, { recursive: true, force: true });
});

async function get<T>(path: string): Promise<T> {
  const answer = await fetch(`${demo.lines.web}${path}`, {
    headers: { authorization: `Bearer ${demo.lines.token}` },
  });
  expect(answer.status).toBe(200);
  return (await answer.json()) as T;
}
const sites = async (): Promise<readonly SiteJson[]> =>
  (await get<SiteListJson>('/api/v1/sites')).sites;
const site = async (id: string): Promise<SiteJson> => {
  const found = (await sites()).find((one) => one.id === id);
  if (found === undefined) throw new Error(`There is no site ${id}.`);
  return found;
};
const broker = () => new URL(demo.lines.mqtt.url);

/** How long until the bench's row on the open page shows this charge. */
async function msUntilShown(percent: number): Promise<number> {
  const startedAtMs = Date.now();
  await page
    .locator('tr[data-site="bench"]')
    .getByText(new RegExp(`^\\s*${percent}\\s*%`))
    .first()
    .waitFor({ timeout: 10_000 });
  return Date.now() - startedAtMs;
}

describe('the coordinator', () => {
  it('signs in and is told first, in one sentence, how many sites need someone', async () => {
    await page.goto(demo.lines.web);
    await page.waitForURL(/sign-in/);
    await page.getByLabel('E-mail').fill(demo.lines.email);
    await page.getByLabel('Password').fill(demo.lines.password);
    await page.locator('form button').click();
    await page.locator('tr[data-site="tarn-gill"]').waitFor();
    expect(await page.locator('h1').innerText()).toMatch(
      /^(\d+|None) of 21 sites needs? (someone|anyone) this week/,
    );
    expect(await page.locator('tbody tr[data-site]').count()).toBe(21);
  });

  it('finds every drill of the fleet told as what it is', async () => {
    const dark = await waitFor(
      'the dark node to be judged',
      async () => {
        const now = await site('long-moss');
        return now.state === 'dark-as-designed' && now.outlook?.back !== null ? now : undefined;
      },
      { withinMs: 60_000 },
    );
    expect(dark.outlook?.back?.kind).toBe('expected-back');
    expect(dark.alerts).toEqual([]);
    // Its past has just been told: the alert waits a minute for more.
    const failed = await waitFor(
      'the broken board to be noticed',
      async () => {
        const now = await site('brackwell-ford');
        return now.alerts.length > 0 ? now : undefined;
      },
      { withinMs: 200_000, everyMs: 2000 },
    );
    expect(failed.alerts.map(({ rule, priority, state }) => [rule, priority, state])).toEqual([
      ['silent-unexplained', 'P2', 'new'],
    ]);
    // It comes with its own look, which may be after that of the broken board.
    // Its forecast may speak first, by a few looks.
    await waitFor(
      'the low node to be called low',
      async () => (await site('rushy-sluice')).alerts.some(({ rule }) => rule === 'charge-low'),
      { withinMs: 120_000, everyMs: 2000 },
    );
    for (const one of await sites()) {
      if (one.id === 'bench' || one.id === 'brackwell-ford') continue;
      expect([one.id, one.outlook?.kind]).not.toEqual([one.id, 'insufficient-data']);
      expect(one.lastHeardAt).not.toBeNull();
    }
  });

  it('takes an alert, and everybody sees who has it', async () => {
    await page.goto(`${demo.lines.web}/sites/brackwell-ford`);
    await page.getByRole('button', { name: 'I take this' }).click();
    const taken = await waitFor('the alert to be taken', async () => {
      const [alert] = (await site('brackwell-ford')).alerts;
      return alert?.state === 'taken' ? alert : undefined;
    });
    expect(taken.takenBy).toBe('Keeper');
    await page.goto(demo.lines.web);
    await page
      .locator('tr[data-site="brackwell-ford"]')
      .getByText(/Keeper/)
      .waitFor();
  });
});

describe('a reading published by hand', () => {
  it.skipIf(!hasMosquittoPub)(
    'with mosquitto_pub, by the line the demo printed, is on the open page within 2 s',
    async () => {
      await page.goto(demo.lines.web);
      await page.locator('tr[data-site="bench"]').waitFor();
      await sleep(1000);
      await runPrinted(demo.lines.command);
      const ms = await msUntilShown(64);
      console.log(`mosquitto_pub → on the page: ${ms} ms`);
      expect(ms).toBeLessThan(ON_PAGE_MS);
      expect((await site('bench')).state).toBe('up');
    },
  );

  it.skipIf(!hasPaho)('with python3-paho-mqtt is on the open page within 2 s', async () => {
    await sleep(1500);
    const { node, secret } = demo.lines.mqtt;
    const { hostname, port } = broker();
    await publishWithPaho(
      { host: hostname, port: Number(port) },
      { name: node, secret },
      '[{"n":"batt_v","u":"V","v":13.2},{"n":"charge","u":"%EL","v":71}]',
    );
    const ms = await msUntilShown(71);
    console.log(`paho → on the page: ${ms} ms`);
    expect(ms).toBeLessThan(ON_PAGE_MS);
  });
});

describe('a message that cannot be accepted', () => {
  const good = '[{"n":"charge","u":"%EL","v":72}]';
  const bad: readonly (readonly [string, Buffer, string])[] = [
    ['malformed JSON', Buffer.from('[{"n":"charge",'), 'up/live'],
    [
      'bad UTF-8',
      Buffer.from([0x5b, 0x7b, 0x22, 0x6e, 0x22, 0x3a, 0x22, 0xff, 0xfe, 0x22, 0x7d, 0x5d]),
      'up/live',
    ],
    ['NaN', Buffer.from('[{"n":"charge","u":"%EL","v":NaN}]'), 'up/live'],
    ['a wrong unit', Buffer.from('[{"n":"batt_v","u":"Cel","v":13}]'), 'up/live'],
    [
      'a date in the future',
      Buffer.from(`[{"n":"batt_v","u":"V","v":13,"t":${Date.now() / 1000 + 40 * 86_400}}]`),
      'up/live',
    ],
  ];

  async function publish(topic: string, payload: Buffer | string): Promise<void> {
    const { node, secret, url } = demo.lines.mqtt;
    const client = await mqtt.connectAsync(url, {
      clientId: node,
      username: node,
      password: secret,
      protocolVersion: 4,
      reconnectPeriod: 0,
    });
    // A refused message ends the connection without an acknowledgement: that is what the node sees.
    const closed = new Promise<void>((resolve) => client.once('close', () => resolve()));
    await Promise.race([
      client.publishAsync(topic, payload, { qos: 1 }).catch(() => undefined),
      closed,
    ]);
    await client.endAsync(true);
  }
  const latest = async () => (await get<QuarantineJson>('/api/v1/quarantine')).entries;

  it.each(bad)(
    '%s is kept whole with a plain reason, and its good neighbour gets through',
    async (_what, payload, where) => {
      const { node } = demo.lines.mqtt;
      await publish(`v1/${node}/${where}`, payload);
      await publish(`v1/${node}/up/live`, good);
      const kept = (await latest()).find((entry) =>
        Buffer.from(entry.payloadBase64, 'base64').equals(payload),
      );
      expect(kept?.reason).toMatch(/^[A-Z"].{20,}/);
      await waitFor('the good neighbour', async () => (await site('bench')).chargeRatio === 0.72);
    },
  );

  it('under the topic of another node is refused, and that node keeps its readings', async () => {
    const before = await site('tarn-gill');
    await publish('v1/tarn-gill-1/up/live', '[{"n":"charge","u":"%EL","v":1}]');
    const note = await waitFor('the note of the refusal', async () =>
      (await latest()).find((entry) => entry.code === 'publish-foreign'),
    );
    expect(note.reason).toContain('tarn-gill-1');
    expect((await site('tarn-gill')).chargeRatio).toBeGreaterThan(0.05);
    expect(before.chargeRatio).toBeGreaterThan(0.05);
  });

  it('of 300 KB is refused with a plain reason', async () => {
    const { node } = demo.lines.mqtt;
    await publish(`v1/${node}/up/live`, Buffer.alloc(300 * 1024, 0x20));
    const note = await waitFor('the note of the refusal', async () =>
      (await latest()).find((entry) => entry.code === 'packet-too-large'),
    );
    expect(note.reason).toMatch(/262,?144|256/);
  });

  it('does the server no harm', async () => {
    expect((await fetch(`${demo.lines.web}/healthz`)).status).toBe(200);
    expect((await fetch(`${demo.lines.web}/readyz`)).status).toBe(200);
  });
});

describe('a second start in the same folder', () => {
  it('stops at Ctrl-C, says plainly when a port is taken, and goes on with the same account and past', async () => {
    const first = demo.lines;
    await expect(startDemo({ ...env, DUSKLINE_DATA_DIR: join(folder, 'other') })).rejects.toThrow(
      /already listens on .*port/,
    );
    await demo.interrupt();
    await expect(fetch(`${first.web}/healthz`)).rejects.toThrow();
    demo = await startDemo(env);
    console.log(`second start ready after ${demo.lines.readyAfterS} s`);
    expect(demo.lines).toMatchObject({
      email: first.email,
      password: first.password,
      token: first.token,
      mqtt: first.mqtt,
    });
    expect((await site('bench')).chargeRatio).toBeCloseTo(0.72, 5);
    expect(await sites()).toHaveLength(21);
  });
});
