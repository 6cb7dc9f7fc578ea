import type { AlertJson, ClientEvents, FleetRowJson, ServerEvents } from '@duskline/contract';
import { accountId, roleAllows, permissions, type Account, type SiteId } from '@duskline/domain';
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { io, type ManagerOptions, type Socket, type SocketOptions } from 'socket.io-client';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { createLive, type Live } from './create-live.ts';

type Page = Socket<ServerEvents, ClientEvents>;

const keeper: Account = {
  id: accountId('k'),
  email: 'keeper@greywater.example',
  name: 'Keeper',
  role: 'keeper',
};
const viewer: Account = { ...keeper, id: accountId('v'), role: 'viewer' };

const row = (id: string, version: number, padding = ''): FleetRowJson =>
  ({ site: { id, version, name: padding } }) as unknown as FleetRowJson;
const alert = { id: '41' } as AlertJson;

describe('the live door', () => {
  let server: Server;
  let live: Live;
  let port: number;
  let credentials: Map<string, Account>;
  let pages: Page[];
  let storeAway: boolean;

  const authenticate = async (cookie: string | undefined, bearer?: string) => {
    if (storeAway) throw new Error('the database is away');
    const account = credentials.get(bearer ?? cookie ?? '');
    return account === undefined
      ? undefined
      : { account, permissions: permissions.filter((one) => roleAllows(account.role, one)) };
  };

  beforeEach(async () => {
    credentials = new Map([
      ['duskline=keeper', keeper],
      ['duskline=viewer', viewer],
      ['dl_r_token', viewer],
    ]);
    pages = [];
    storeAway = false;
    server = createServer((_request, response) => response.end('page'));
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
    ({ port } = server.address() as AddressInfo);
    live = createLive({
      server,
      authenticate,
      rowGapMs: 40,
      recheckMs: 50,
      maxWaitingBytes: 1024 * 1024,
      slowReaderMs: 300,
    });
  });
  afterEach(async () => {
    for (const page of pages) page.disconnect();
    await live.close();
    server.closeAllConnections();
    await new Promise((resolve) => server.close(resolve));
  });

  function open(
    headers: Record<string, string>,
    options: Partial<ManagerOptions & SocketOptions> = {},
  ): Page {
    const page: Page = io(`http://127.0.0.1:${port}`, {
      transports: ['websocket'],
      forceNew: true,
      reconnection: false,
      extraHeaders: headers,
      ...options,
    });
    pages.push(page);
    return page;
  }
  const ownPage = (cookie: string, options?: Partial<ManagerOptions & SocketOptions>) =>
    open({ origin: `http://127.0.0.1:${port}`, cookie }, options);

  const outcome = (page: Page): Promise<string> =>
    new Promise((resolve) => {
      page.once('connect', () => resolve('connected'));
      page.once('connect_error', (error) => resolve(`refused: ${error.message}`));
    });
  const closed = (page: Page): Promise<string> =>
    new Promise((resolve) => page.once('disconnect', resolve));
  const watching = async (page: Page): Promise<Page> => {
    expect(await outcome(page)).toBe('connected');
    await new Promise<void>((resolve) => page.emit('watch-fleet', resolve));
    return page;
  };
  const next = (page: Page, event: keyof ServerEvents) =>
    new Promise<unknown[]>((resolve) =>
      (page as unknown as Socket).once(event, (...said: unknown[]) => resolve(said)),
    );
  const pause = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms));

  it('tells who sees some sites of these only, and of others once that is changed', async () => {
    const some: Account = { ...viewer, id: accountId('s'), onlySites: ['tarn-gill' as SiteId] };
    credentials.set('duskline=some', some);
    const page = await watching(ownPage('duskline=some'));
    const whole = await watching(ownPage('duskline=keeper'));
    const heard: string[] = [];
    page.on('site', ({ site }) => heard.push(site.id));
    page.on('alert', ({ id }) => heard.push(id));
    page.on('plans', (news) => heard.push(news.kind === 'visit' ? `visit ${news.siteId}` : 'rota'));
    const others = next(whole, 'site');
    live.publishRow(row('rushy-sluice', 1));
    await others;
    live.publishAlert({ id: 'of-rushy', siteId: 'rushy-sluice' } as AlertJson);
    live.publishAlert({ id: 'of-the-fleet', siteId: '' } as AlertJson);
    live.publishPlans({ kind: 'visit', siteId: 'rushy-sluice' });
    live.publishPlans({ kind: 'visit', siteId: 'tarn-gill' });
    live.publishPlans({ kind: 'rota' });
    const own = next(page, 'site');
    live.publishRow(row('tarn-gill', 1));
    await own;
    expect(heard).toEqual(['of-the-fleet', 'visit tarn-gill', 'rota', 'tarn-gill']);

    const { onlySites: _, ...all } = some;
    credentials.set('duskline=some', all);
    await pause(200);
    const now = next(page, 'site');
    live.publishRow(row('rushy-sluice', 2));
    expect(await now).toMatchObject([{ site: { id: 'rushy-sluice' } }]);
  });

  it('lets our own page in with its session, and a program with its token', async () => {
    expect(await outcome(ownPage('duskline=keeper'))).toBe('connected');
    expect(await outcome(open({ authorization: 'Bearer dl_r_token' }))).toBe('connected');
  });

  it('keeps out who has no session, or one that is over', async () => {
    expect(await outcome(ownPage('duskline=nobody'))).toBe('refused: sign-in-needed');
    expect(await outcome(ownPage(''))).toBe('refused: sign-in-needed');
    credentials.delete('duskline=keeper');
    expect(await outcome(ownPage('duskline=keeper'))).toBe('refused: sign-in-needed');
  });

  it.each(['https://elsewhere.example', 'null', 'http://127.0.0.1:1'])(
    'keeps out a page of %s that rides on the visitor’s session',
    async (origin) => {
      expect(await outcome(open({ origin, cookie: 'duskline=keeper' }))).toMatch(/^refused/);
    },
  );

  it('keeps out who sends no origin and only a cookie', async () => {
    expect(await outcome(open({ cookie: 'duskline=keeper' }))).toMatch(/^refused/);
  });

  it('does not speak over plain requests', async () => {
    const answer = await fetch(`http://127.0.0.1:${port}/socket.io/?EIO=4&transport=polling`, {
      headers: { origin: `http://127.0.0.1:${port}`, cookie: 'duskline=keeper' },
    });
    expect(answer.status).toBe(400);
  });

  it('leaves every other address to the API', async () => {
    expect(await (await fetch(`http://127.0.0.1:${port}/`)).text()).toBe('page');
  });

  it('sends rows, alerts and resync to who watches, and to nobody else', async () => {
    const watcher = await watching(ownPage('duskline=keeper'));
    const idler = ownPage('duskline=viewer');
    expect(await outcome(idler)).toBe('connected');
    const overheard: unknown[] = [];
    idler.onAny((event) => overheard.push(event));

    const said = Promise.all([
      next(watcher, 'site'),
      next(watcher, 'alert'),
      next(watcher, 'resync'),
    ]);
    live.publishRow(row('rushy-sluice', 3));
    live.publishAlert(alert);
    live.resync();
    expect(await said).toEqual([[row('rushy-sluice', 3)], [alert], []]);
    expect(overheard).toEqual([]);
  });

  it('sends a site’s rows one gap apart, and then the newest', async () => {
    const watcher = await watching(ownPage('duskline=keeper'));
    const versions: number[] = [];
    watcher.on('site', (one) => versions.push(one.site.version));
    for (const version of [1, 2, 3, 4, 5]) live.publishRow(row('tarn-gill', version));
    await pause(150);
    expect(versions).toEqual([1, 5]);
  });

  it('closes the sockets of an account whose session ended, and keeps them out', async () => {
    const page = await watching(
      ownPage('duskline=keeper', { reconnection: true, reconnectionDelay: 10 }),
    );
    const other = await watching(ownPage('duskline=viewer'));
    credentials.delete('duskline=keeper');
    const refused = new Promise<string>((resolve) =>
      page.once('connect_error', (error) => resolve(error.message)),
    );
    const gone = closed(page);
    live.endSession(keeper);
    expect(await gone).toBe('transport close');
    expect(await refused).toBe('sign-in-needed');
    expect(other.connected).toBe(true);
  });

  it('lets an account’s other session come back by itself', async () => {
    const page = await watching(
      ownPage('duskline=keeper', { reconnection: true, reconnectionDelay: 10 }),
    );
    const gone = closed(page);
    live.endSession(keeper);
    await gone;
    await new Promise<void>((resolve) => page.once('connect', resolve));
    expect(page.connected).toBe(true);
  });

  it('notices by itself that a session has ended elsewhere', async () => {
    const page = await watching(ownPage('duskline=keeper'));
    const gone = closed(page);
    credentials.delete('duskline=keeper');
    expect(await gone).toBe('transport close');
  });

  it('asks again who is there at every event', async () => {
    const page = ownPage('duskline=keeper');
    expect(await outcome(page)).toBe('connected');
    const gone = closed(page);
    credentials.delete('duskline=keeper');
    page.emit('watch-fleet', () => undefined);
    expect(await gone).toBe('transport close');
  });

  it('lets nobody watch while it cannot be told who they are', async () => {
    const page = ownPage('duskline=keeper');
    expect(await outcome(page)).toBe('connected');
    const gone = closed(page);
    storeAway = true;
    let watched = false;
    page.emit('watch-fleet', () => (watched = true));
    await gone;
    expect(watched).toBe(false);
    expect(await outcome(ownPage('duskline=keeper'))).toBe('refused: not-ready');
  });

  it('closes on events nobody declared, and takes a watch without an answer to call', async () => {
    const page = ownPage('duskline=keeper');
    expect(await outcome(page)).toBe('connected');
    const gone = closed(page);
    (page as unknown as Socket).emit('empty-the-store', { all: true });
    expect(await gone).toBe('transport close');

    const plain = ownPage('duskline=keeper');
    expect(await outcome(plain)).toBe('connected');
    (plain as unknown as Socket).emit('watch-fleet', 'no function');
    await pause(30);
    const said = next(plain, 'resync');
    live.resync();
    expect(await said).toEqual([]);
  });

  it('closes on a message that is larger than anything a page says', async () => {
    const page = ownPage('duskline=keeper');
    expect(await outcome(page)).toBe('connected');
    const gone = closed(page);
    (page as unknown as Socket).emit('watch-fleet', 'x'.repeat(70 * 1024));
    expect(await gone).toMatch(/transport/);
  });

  it('drops a reader that does not read, and keeps sending to the others', async () => {
    const slow = await watching(ownPage('duskline=viewer'));
    const quick = await watching(ownPage('duskline=keeper'));
    let received = 0;
    quick.on('site', () => (received += 1));
    const engine = slow.io.engine as unknown as {
      transport: { ws: { _socket: { pause(): void; resume(): void } } };
    };
    const wire = engine.transport.ws._socket;
    wire.pause();
    // 200 rows of 64 KB, 13 MB: more than the buffers of a loopback connection hold (at most 4 MB and 6 MB, Linux tcp(7)).
    for (let i = 0; i < 200; i++) {
      live.publishRow(row(`site-${i}`, 1, 'x'.repeat(64 * 1024)));
      if (i % 10 === 0) await pause(5);
    }
    await pause(500);
    const gone = closed(slow);
    wire.resume();
    expect(await gone).toMatch(/transport/);
    await expect.poll(() => received, { timeout: 5000 }).toBe(200);
  });
});
