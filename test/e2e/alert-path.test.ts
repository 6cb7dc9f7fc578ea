/// <reference lib="dom" />
/// <reference lib="dom.iterable" />
import { AxeBuilder } from '@axe-core/playwright';
import { hashPassword } from '@duskline/api';
import { hashSecret } from '@duskline/broker';
import {
  DAY_MS,
  HOUR_MS,
  type Account,
  type Alert,
  type FieldNode,
  type NodeName,
  type SiteId,
} from '@duskline/domain';
import { openStore, type Store } from '@duskline/store';
import {
  createTestDatabase,
  DEFAULT_CONSUMER,
  freePort,
  launchBrowser,
  newTestContext,
  startMosquitto,
  waitFor,
  whyNoMosquitto,
  type TestDatabase,
  type TestMosquitto,
} from '@duskline/test-harness';
import { spawn, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import type { Browser, Page } from 'playwright-core';
import postgres from 'postgres';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openMailBox, type MailBox } from './mail-box.ts';

/**
 * Alert → mail → link → taken → note → ended, in a real browser of a phone's width, with a real SMTP server and two
 * servers on one database. States after ISA-18.2; that reading a link changes nothing is RFC 9110 §9.2.1 (safe methods).
 */
const root = fileURLToPath(new URL('../../', import.meta.url));
const main = join(root, 'apps/server/src/main.ts');
const PHONE = { width: 390, height: 844 };
const PASSWORD = 'only in tests, and long enough';
/** Nobody else is called later than this after an alert was taken: the project's own promise. */
const STOPS_WITHIN_MS = 5000;
/** Long enough to press a button on a busy machine. */
const NEXT_CALL_MS = 20_000;

const whyNot = await whyNoMosquitto();
if (whyNot !== undefined) console.warn(`SKIPPED: the path of an alert: ${whyNot}.`);

describe.skipIf(whyNot !== undefined)('an alert, from the message to its end', () => {
  let folder: string;
  let database: TestDatabase;
  let store: Store;
  let sql: postgres.Sql;
  let mosquitto: TestMosquitto;
  let mail: MailBox;
  let browser: Browser;
  let phone: Page;
  let wren: Account;
  let isla: Account;
  let first: FieldNode;
  let second: FieldNode;
  const servers: { readonly child: ChildProcess; readonly url: string }[] = [];

  beforeAll(async () => {
    await buildWeb();
    folder = mkdtempSync(join(tmpdir(), 'duskline-alert-path-'));
    database = await createTestDatabase();
    store = await openStore({ url: database.url });
    sql = postgres(database.url, { max: 1 });
    mosquitto = await startMosquitto({ nodes: [] });
    mail = await openMailBox(await freePort());
    wren = await makePerson('Wren Halloway', 'wren@greywater.example', 'volunteer');
    isla = await makePerson('Isla Fenwick', 'isla@greywater.example', 'coordinator');
    await store.rota.add({
      personId: wren.id,
      start: new Date(Date.now() - DAY_MS).toISOString().slice(0, 16),
      // Beyond the week in which a gap ahead would be an alert of its own.
      durationMinutes: 14 * 1440,
      timeZone: 'UTC',
      recurrence: '',
    });
    first = await makeNode('rushy-sluice', 'Rushy Sluice');
    second = await makeNode('long-moss', 'Long Moss');
    await Promise.all([startServer('one'), startServer('two')]);
    browser = await launchBrowser();
    const context = await newTestContext(browser, { viewport: PHONE, colorScheme: 'dark' });
    phone = await context.newPage();
  });
  afterAll(async () => {
    await browser?.close();
    for (const { child } of servers) {
      child.kill('SIGTERM');
      if (child.exitCode === null) await once(child, 'exit');
    }
    await mail?.close();
    await mosquitto?.stop();
    await sql?.end();
    await store?.close();
    await database?.drop();
    rmSync(folder, { recursive: true, force: true });
  });

  async function buildWeb(): Promise<void> {
    if (existsSync(join(root, 'apps/web/build/index.html'))) return;
    const build = spawn('npm', ['run', 'build', '-w', '@duskline/web', '--silent'], {
      cwd: root,
      stdio: ['ignore', 'ignore', 'inherit'],
    });
    const [code] = (await once(build, 'exit')) as [number | null];
    if (code !== 0) throw new Error('The web app could not be built.');
  }

  async function makePerson(name: string, email: string, role: Account['role']): Promise<Account> {
    const passwordHash = await hashPassword(PASSWORD);
    const account = await store.accounts.create({ email, name, role, passwordHash });
    const known = (await store.people.find(account.id))?.channels ?? [];
    if (known.length === 0)
      await store.people.addChannel(account.id, { kind: 'email', address: email });
    return account;
  }

  async function makeNode(id: string, name: string): Promise<FieldNode> {
    const site = await store.sites.create({
      id: id as SiteId,
      name,
      position: { latitudeDeg: 54.6, longitudeDeg: -2.3, elevationM: 310 },
      timeZone: 'Europe/London',
      access: 'Gate by the sheepfold.',
      hazards: 'Boggy after rain.',
    });
    return store.nodes.create(
      {
        name: id as NodeName,
        siteId: site.id,
        commissionedAtMs: Date.now() - DAY_MS,
        power: {
          panel: { ratedW: 20, tiltDeg: 65, azimuthDeg: 180 },
          battery: { chemistry: 'lifepo4', ratedWh: 150, seriesCells: 4 },
          charger: 'mppt',
          shutDownRatio: 0.1,
          restartRatio: 0.5,
          offStateDrawW: 0.1,
          usualGapS: 30,
        },
      },
      hashSecret('only in tests'),
    );
  }

  async function startServer(id: string): Promise<void> {
    const port = await freePort();
    const url = `http://127.0.0.1:${port}`;
    const child = spawn(process.execPath, ['--conditions=development', '--import', 'tsx', main], {
      cwd: root,
      env: {
        ...process.env,
        DUSKLINE_DATABASE_URL: database.url,
        DUSKLINE_DATA_DIR: join(folder, id),
        DUSKLINE_HTTP_PORT: String(port),
        DUSKLINE_PUBLIC_URL: url,
        DUSKLINE_BROKER_URL: mosquitto.url,
        DUSKLINE_BROKER_USERNAME: DEFAULT_CONSUMER.name,
        DUSKLINE_BROKER_PASSWORD: DEFAULT_CONSUMER.password,
        DUSKLINE_SMTP_URL: mail.url,
        DUSKLINE_MAIL_FROM: 'Duskline <duskline@greywater.example>',
        DUSKLINE_LOG_LEVEL: 'warn',
      },
      stdio: ['ignore', 'ignore', 'inherit'],
    });
    servers.push({ child, url });
    await waitFor(
      `server ${id}`,
      async () => {
        return (await fetch(`${url}/readyz`).catch(() => undefined))?.ok === true;
      },
      { withinMs: 200_000, everyMs: 500 },
    );
  }

  /** The rules have found something; nothing is heard of the node for days, so that only the test ends it. */
  async function look(
    node: FieldNode,
    change: Parameters<Store['commitAdvance']>[0]['alertChanges'],
  ) {
    await store.commitAdvance({
      nodeId: node.id,
      // Newer than any look of the servers themselves.
      newsVersion: 1_000_000,
      verdict: { state: 'up', sinceMs: Date.now() - HOUR_MS, cause: 'Heard.', evidence: [] },
      alertChanges: change,
      memory: [],
      nextCheckAtMs: Date.now() + 30 * DAY_MS,
      nowMs: Date.now(),
    });
  }
  async function open(node: FieldNode, sentence: string): Promise<Alert> {
    const text = {
      sentence,
      figures: '58 °C, 31 °C an hour ago.',
      byWhen: 'now',
      todo: 'Keep everybody away; call the fire service if there is smoke.',
      bring: 'nothing',
      cautions: ['Do not touch a battery that is hot or swollen.'],
    };
    // P1: the only urgency that is called at any hour, so that the test holds by day and by night.
    await look(node, [{ kind: 'open', rule: 'battery-hot', priority: 'P1', text, why: 'hot' }]);
    const [alert] = await store.alerts.open(node.id);
    if (alert === undefined) throw new Error('No alert was opened.');
    return alert;
  }
  const nextCallAt = (alert: Alert, atMs: number) => sql`
    update alert set next_call_at = to_timestamp(${atMs}::float8 / 1000)
    where node_id = ${alert.nodeId} and next_call_at is not null`;
  const lettersTo = (account: Account, about: string) =>
    mail.letters().filter((one) => one.to === account.email && one.subject.includes(about));
  const letterTo = (account: Account, about: string) =>
    waitFor(`a letter to ${account.name}`, () => lettersTo(account, about)[0], {
      withinMs: 60_000,
    });
  async function expectAccessible(page: Page): Promise<void> {
    const { violations } = await new AxeBuilder({ page }).analyze();
    expect(violations.map(({ id, nodes }) => `${id}: ${nodes[0]?.html ?? ''}`)).toEqual([]);
  }

  it('goes by mail to whoever is on call, is taken by the link, noted, and ends', async () => {
    const alert = await open(first, 'The battery at Rushy Sluice is hot.');
    const letter = await letterTo(wren, 'Rushy Sluice');
    const link = /https?:\/\/\S+\/a\/[A-Za-z0-9_-]+/.exec(letter.text)?.[0];
    if (link === undefined) throw new Error(`There is no link in: ${letter.text}`);

    await phone.goto(link);
    await phone.getByRole('heading', { name: /Wren Halloway, can you see to this/ }).waitFor();
    await expectAccessible(phone);
    expect(await phone.evaluate(() => document.documentElement.scrollWidth)).toBe(PHONE.width);
    // Reading is safe: programs that look through mail take nothing.
    expect((await store.alerts.find(alert.id))?.state).toBe('new');

    // The next person is about to be called when the button is pressed.
    const nextCallAtMs = Date.now() + NEXT_CALL_MS;
    await nextCallAt(alert, nextCallAtMs);
    await phone.getByRole('button', { name: 'I take this' }).click();
    await phone.getByRole('heading', { name: /It is yours, Wren Halloway/ }).waitFor();
    expect(await store.alerts.find(alert.id)).toMatchObject({
      state: 'taken',
      takenBy: 'Wren Halloway',
    });
    // Taken in time, and the moment at which the next would have been called is over on both servers.
    expect(Date.now()).toBeLessThan(nextCallAtMs);
    await sleep(nextCallAtMs - Date.now() + STOPS_WITHIN_MS);
    expect(lettersTo(isla, 'Rushy Sluice')).toEqual([]);

    // Used once, the link takes nothing more.
    await phone.goto(link);
    await phone.getByRole('heading', { name: 'This link is over.' }).waitFor();

    // The other server knows who has it.
    const other = servers.find(({ url }) => !link.startsWith(url));
    if (other === undefined) throw new Error('There is no other server.');
    await phone.goto(`${other.url}/watch`);
    await phone.getByLabel('E-mail').fill(wren.email);
    await phone.getByLabel('Password').fill(PASSWORD);
    await phone.locator('form button').click();
    await phone.getByRole('heading', { name: 'Yours now' }).waitFor();
    await expectAccessible(phone);
    await phone.emulateMedia({ colorScheme: 'light' });
    await expectAccessible(phone);
    expect(await phone.getByRole('link', { name: 'Directions' }).getAttribute('href')).toBe(
      'geo:54.6,-2.3',
    );

    // By keyboard alone.
    const mine = phone.locator(`#alert-${alert.id}`);
    await mine.getByRole('button', { name: 'Note' }).focus();
    await phone.keyboard.press('Enter');
    await phone.keyboard.type('No smoke; the gate is shut.');
    await phone.keyboard.press('Tab');
    await phone.keyboard.press('Enter');
    await waitFor('the note', async () =>
      (await store.alerts.history(alert.id)).some(({ why }) => why.includes('the gate is shut')),
    );

    await look(first, [{ kind: 'end', id: alert.id, why: 'It has cooled down.' }]);
    await phone.reload();
    await phone.getByRole('heading', { name: 'Nothing waits for you.' }).waitFor();
    expect((await store.alerts.find(alert.id))?.state).toBe('ended');
    const kinds = (await store.alerts.history(alert.id)).map(({ kind }) => kind);
    expect(kinds.filter((kind) => ['take', 'note', 'end'].includes(kind))).toEqual([
      'take',
      'note',
      'end',
    ]);
  });

  it('goes to the next person when nobody takes it: the silence above was not for lack of mail', async () => {
    const alert = await open(second, 'The battery at Long Moss is hot.');
    await letterTo(wren, 'Long Moss');
    await nextCallAt(alert, Date.now());
    const letter = await letterTo(isla, 'Long Moss');
    // Two servers looked at the same alert: it was sent once.
    await sleep(STOPS_WITHIN_MS);
    expect(lettersTo(isla, 'Long Moss').map(({ key }) => key)).toEqual([letter.key]);
  });
});
