import { hashSecret } from '@duskline/broker';
import {
  parseNodeName,
  type MessagePlace,
  type NodeId,
  type NodeName,
  type SiteId,
} from '@duskline/domain';
import { openStore, type Store } from '@duskline/store';
import {
  createTestDatabase,
  DEFAULT_CONSUMER,
  freePort,
  startMosquitto,
  waitFor,
  whyNoMosquitto,
  type TestDatabase,
  type TestMosquitto,
} from '@duskline/test-harness';
import { decodeAck, encodeMessage, topicFor } from '@duskline/wire';
import mqtt, { type MqttClient } from 'mqtt';
import { spawn, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

// Two servers as processes of their own, one Mosquitto, one Postgres.

const whyNot = await whyNoMosquitto();
if (whyNot !== undefined) console.warn(`SKIPPED: two servers are not tested here: ${whyNot}.`);

const main = fileURLToPath(new URL('./main.ts', import.meta.url));
const name = parseNodeName('peat-hag') as NodeName;
const EACH = 400;

describe.skipIf(whyNot !== undefined)('two servers behind one Mosquitto', () => {
  let database: TestDatabase;
  let store: Store;
  let mosquitto: TestMosquitto;
  let nodeId: NodeId;
  let publisher: MqttClient;
  let folder: string;
  let seq = 0;
  const servers: ChildProcess[] = [];
  const startMs = Math.floor(Date.now() / 1000) * 1000 - 86_400_000;

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'duskline-two-servers-'));
    database = await createTestDatabase();
    store = await openStore({ url: database.url });
    mosquitto = await startMosquitto({ nodes: [{ name, password: 'only-in-tests' }] });
    nodeId = await makeNode();
  });
  afterAll(async () => {
    for (const server of servers) server.kill('SIGKILL');
    await publisher?.endAsync(true);
    await mosquitto.stop();
    await store.close();
    await database.drop();
    rmSync(folder, { recursive: true, force: true });
  });

  async function makeNode(): Promise<NodeId> {
    const site = await store.sites.create({
      id: name as string as SiteId,
      name: 'Peat Hag',
      position: { latitudeDeg: 54.9, longitudeDeg: -2.9, elevationM: 400 },
      timeZone: 'Europe/London',
      access: '',
      hazards: '',
    });
    const node = await store.nodes.create(
      {
        name,
        siteId: site.id,
        commissionedAtMs: startMs,
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
    return node.id;
  }

  async function startServer(id: string): Promise<ChildProcess> {
    const server = spawn(process.execPath, ['--conditions=development', '--import', 'tsx', main], {
      env: {
        ...process.env,
        DUSKLINE_DATABASE_URL: database.url,
        DUSKLINE_DATA_DIR: join(folder, id),
        DUSKLINE_HTTP_PORT: String(await freePort()),
        DUSKLINE_BROKER_URL: mosquitto.url,
        DUSKLINE_BROKER_USERNAME: DEFAULT_CONSUMER.name,
        DUSKLINE_BROKER_PASSWORD: DEFAULT_CONSUMER.password,
        DUSKLINE_LOG_LEVEL: 'warn',
      },
      stdio: ['ignore', 'ignore', 'inherit'],
    });
    servers.push(server);
    return server;
  }

  /** How many slots each server holds, most first. */
  async function shares(): Promise<readonly number[]> {
    const counts = new Map<string, number>();
    for (const { holder } of await store.leases.list('intake/slot-'))
      if (holder !== null) counts.set(holder, (counts.get(holder) ?? 0) + 1);
    return [...counts.values()].sort((a, b) => b - a);
  }

  /** Messages on both lanes, each with a sample of its own second; at least once each. */
  async function publish(count: number): Promise<void> {
    await Promise.all(
      Array.from({ length: count }, async () => {
        const own = (seq += 1);
        const samples = [
          {
            observedAtMs: startMs + own * 1000,
            metrics: ['batt_v' as const],
            values: [12 + own / 1e4],
          },
        ];
        const bytes = encodeMessage({ node: name, place: { boot: 1, seq: own }, samples });
        const topic = topicFor(name, own % 2 === 0 ? 'live' : 'backlog');
        await publisher.publishAsync(topic, Buffer.from(bytes), { qos: 1 });
      }),
    );
  }

  const storedValues = () =>
    store.samples.raw(nodeId, 'batt_v', {
      fromMs: startMs,
      toMs: startMs + 86_400_000,
      limit: 100_000,
    });

  it('share the slots; when one is killed the other takes over, and everything arrives once', async () => {
    const first = await startServer('first');
    await waitFor('the first to hold every slot', async () => (await shares())[0] === 2, {
      withinMs: 60_000,
    });
    await startServer('second');
    await waitFor('the slots to be shared', async () => (await shares()).join() === '1,1', {
      withinMs: 60_000,
    });
    await sleep(500);
    publisher = await mqtt.connectAsync(mosquitto.url, {
      clientId: name,
      username: name,
      password: 'only-in-tests',
      protocolVersion: 4,
    });

    await publish(EACH);
    const flood = publish(EACH);
    const gone = once(first, 'exit');
    first.kill('SIGKILL');
    await gone;
    const killedAtMs = performance.now();
    await flood;
    await publish(EACH);
    await waitFor('the other to hold every slot', async () => (await shares()).join() === '2', {
      withinMs: 60_000,
    });
    const tookOverMs = performance.now() - killedAtMs;
    await waitFor('everything to be stored', async () => (await storedValues()).length >= seq, {
      withinMs: 60_000,
    });
    const allStoredMs = performance.now() - killedAtMs;
    console.log(
      JSON.stringify({
        messages: seq,
        takeoverMs: Math.round(tookOverMs),
        everythingStoredAfterKillMs: Math.round(allStoredMs),
      }),
    );
    const expected = Array.from({ length: seq }, (_, i) => ({
      atMs: startMs + (i + 1) * 1000,
      value: 12 + (i + 1) / 1e4,
    }));
    expect(await storedValues()).toEqual(expected);
  });

  it('tells a node what is committed when a server takes a slot: the one before may have died before it said so', async () => {
    for (const server of servers) {
      const gone = once(server, 'exit');
      if (server.kill('SIGKILL')) await gone;
    }
    const heard: MessagePlace[] = [];
    await publisher.subscribeAsync(topicFor(name, 'ack'), { qos: 1 });
    publisher.on('message', (_topic, bytes) => {
      const ack = decodeAck(bytes);
      if (ack.ok) heard.push(ack.value);
    });
    await sleep(500);
    heard.length = 0;
    // As if a server had committed these and been killed in the next moment.
    const place = { boot: 2, seq: 1 };
    const samples = [{ observedAtMs: startMs, metrics: ['charge' as const], values: [80] }];
    const [outcome] = await store.samples.accept([
      {
        node: name,
        lane: 'live',
        receivedAtMs: Date.now(),
        place,
        samples: samples.map((sample) => ({ ...sample, timeQuality: 'synced' as const })),
      },
    ]);
    expect(outcome).toMatchObject({ kind: 'stored', ack: place });
    await startServer('third');
    await waitFor('the word', () => heard.some(({ boot }) => boot === 2), { withinMs: 60_000 });
    expect(heard).toContainEqual(place);
  });
});
