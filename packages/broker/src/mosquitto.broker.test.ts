import mqtt, { type IClientOptions, type MqttClient } from 'mqtt';
import { spawn, spawnSync, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { appendFile, mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { createServer, type AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it, vi } from 'vitest';
import {
  mosquittoAcl,
  mosquittoConfig,
  removeMosquittoPassword,
  writeMosquittoPassword,
  slotNames,
} from './index.ts';

// The installed Mosquitto under the script and the rules that ship, mqtt.js as the node.

const shipped = fileURLToPath(new URL('../mosquitto/', import.meta.url));
const rushy = 'rushy-sluice';
const tarn = 'tarn-gill';
const ingest = 'ingest-0';
/** Hears everything; only here, to see what gets through. */
const spy = 'the-spy';

const installed = spawnSync('mosquitto', ['-h']).error === undefined;
if (!installed) console.warn('SKIPPED: Mosquitto is not installed, its rules are not tested here.');

describe('the files that ship', () => {
  it('are what the functions make', async () => {
    expect(await readFile(`${shipped}mosquitto.conf`, 'utf8')).toBe(
      mosquittoConfig({
        port: 1883,
        passwordFile: '/mosquitto/private/passwords',
        aclFile: '/mosquitto/private/acl',
        dataDir: '/mosquitto/data/',
      }),
    );
    expect(await readFile(`${shipped}acl`, 'utf8')).toBe(mosquittoAcl({ consumers: slotNames }));
  });
});

describe.skipIf(!installed)('Mosquitto under the rules that ship', () => {
  let folder: string;
  let passwords: string;
  let port: number;
  let broker: ChildProcess;
  let output = '';
  let clients: MqttClient[] = [];
  let heard: { topic: string; text: string }[] = [];
  let spying: MqttClient;

  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'mosquitto-'));
    passwords = join(folder, 'passwords');
    port = await freePort();
    await mkdir(join(folder, 'data'));
    const places = {
      port,
      host: '127.0.0.1',
      passwordFile: join(folder, 'private/passwords'),
      aclFile: join(folder, 'private/acl'),
      dataDir: join(folder, 'data/'),
    };
    const asRoot = process.getuid?.() === 0 ? 'user root\n' : '';
    await writeFile(join(folder, 'mosquitto.conf'), mosquittoConfig(places) + asRoot);
    await writeFile(join(folder, 'acl'), mosquittoAcl({ consumers: slotNames }));
    await appendFile(join(folder, 'acl'), `\nuser ${spy}\ntopic read #\ntopic read $SYS/#\n`);
    broker = spawn('sh', [join(shipped, 'run.sh')], {
      env: {
        ...process.env,
        DUSKLINE_RULES: folder,
        DUSKLINE_PASSWORDS: passwords,
        DUSKLINE_PRIVATE: join(folder, 'private'),
      },
    });
    broker.stdout?.on('data', (data: Buffer) => (output += data.toString()));
    broker.stderr?.on('data', (data: Buffer) => (output += data.toString()));
    await vi.waitFor(() => expect(output).toContain('waiting for the server to write'), 5000);
    for (const name of [rushy, tarn, ingest, spy]) {
      await writeMosquittoPassword(passwords, name, secretOf(name));
    }
    await vi.waitFor(() => reachable(port), { timeout: 10_000, interval: 100 });
  });

  afterAll(async () => {
    const gone = once(broker, 'exit');
    broker.kill('SIGTERM');
    expect(await gone).toEqual([0, null]);
    await rm(folder, { recursive: true });
  });

  beforeEach(async () => {
    heard = [];
    spying = await connected(spy);
    await spying.subscribeAsync(['#', '$SYS/broker/messages/#'], { qos: 0 });
    spying.on('message', (topic, payload, packet) => {
      if (!packet.retain && !topic.startsWith('$SYS/broker/'))
        heard.push({ topic, text: payload.toString() });
    });
  });

  afterEach(async () => {
    await Promise.all(clients.map((client) => client.endAsync(true)));
    clients = [];
  });

  const secretOf = (name: string) => `secret-of-${name}`;

  function open(name: string, over: IClientOptions = {}): MqttClient {
    const client = mqtt.connect({
      host: '127.0.0.1',
      port,
      protocolVersion: 4,
      clientId: name,
      username: name,
      password: secretOf(name),
      reconnectPeriod: 0,
      ...over,
    });
    client.on('error', () => undefined);
    clients.push(client);
    return client;
  }

  const next = (client: MqttClient, event: string): Promise<unknown[]> =>
    once(client as unknown as NodeJS.EventEmitter, event);

  async function connected(name: string, over: IClientOptions = {}): Promise<MqttClient> {
    const client = open(name, over);
    await next(client, 'connect');
    return client;
  }

  const closed = (client: MqttClient): Promise<void> =>
    new Promise((resolve) => client.once('close', resolve));

  /** A message sent after another has come through, so the other would have too. */
  async function flushed(client: MqttClient): Promise<void> {
    await client.publishAsync(`v1/${rushy}/up/live`, 'afterwards', { qos: 1 });
    await vi.waitFor(() => expect(heard.at(-1)?.text).toBe('afterwards'));
    heard.pop();
  }

  it('lets a node say what is its own, and the server hear it and answer', async () => {
    const server = await connected(ingest);
    await server.subscribeAsync('v1/+/up/#', { qos: 1 });
    const node = await connected(rushy);
    await node.subscribeAsync(`v1/${rushy}/down/#`, { qos: 1 });
    for (const kind of ['live', 'backlog', 'state']) {
      const arrived = next(server, 'message');
      await node.publishAsync(`v1/${rushy}/up/${kind}`, kind, { qos: 1 });
      const [topic, payload] = await arrived;
      expect([topic, String(payload)]).toEqual([`v1/${rushy}/up/${kind}`, kind]);
    }
    const told = next(node, 'message');
    await server.publishAsync(`v1/${rushy}/down/ack`, '{"boot":7,"seq":41}', { qos: 1 });
    const [topic] = await told;
    expect(topic).toBe(`v1/${rushy}/down/ack`);
  });

  it.each([
    `v1/${tarn}/up/live`,
    `v1/${tarn}/up/state`,
    `v1/${tarn}/down/ack`,
    `v1/${rushy}/down/ack`,
    `v1/${rushy}/down/settings`,
    `v1/${rushy}/up`,
    `v1/${rushy}/up/`,
    `v1/${rushy}/up/live/`,
    `v1/${rushy}/up/live/more`,
    `v1/${rushy}//up/live`,
    `/v1/${rushy}/up/live`,
    `v1/${rushy.toUpperCase()}/up/live`,
    'v1/rushy\u2010sluice/up/live',
    `v1/rushy-sluice\u200b/up/live`,
    `v2/${rushy}/up/live`,
    '$SYS/broker/uptime',
    '$CONTROL/dynamic-security/v1',
    `v1/${rushy}/up/live${'/x'.repeat(150)}`,
    'x',
    '/',
  ])('passes on nothing a node publishes to %s', async (topic) => {
    const node = await connected(rushy);
    await node.publishAsync(topic, 'x', { qos: 1, retain: true });
    await flushed(node);
    expect(heard).toEqual([]);
  });

  it.each([
    '#',
    '+/#',
    'v1/+/down/#',
    'v1/+/up/#',
    `v1/${tarn}/#`,
    `v1/${tarn}/down/ack`,
    `v1/${rushy}/up/#`,
    '$SYS/#',
    `$share/g/v1/${tarn}/#`,
    '$share/g/#',
    `v1/${rushy.toUpperCase()}/down/ack`,
    'v1/rushy\u2010sluice/down/ack',
  ])('delivers nothing of others to a node that subscribes to %s', async (filter) => {
    const [node, server, other] = await Promise.all([
      connected(rushy),
      connected(ingest),
      connected(tarn),
    ]);
    const messages: string[] = [];
    node.on('message', (topic) => messages.push(topic));
    await node
      .subscribeAsync([filter, `v1/${rushy}/down/settings`], { qos: 1 })
      .catch(() => undefined);
    await other.publishAsync(`v1/${tarn}/up/live`, 'x', { qos: 1 });
    await node.publishAsync(`v1/${rushy}/up/live`, 'x', { qos: 1 });
    await server.publishAsync(`v1/${tarn}/down/ack`, 'x', { qos: 1 });
    await server.publishAsync(`v1/${rushy}/down/settings`, 'x', { qos: 1 });
    await vi.waitFor(() => expect(messages).toContain(`v1/${rushy}/down/settings`));
    await sleep(30);
    const own = messages.filter((topic) => /^v1\/rushy-sluice\/down\/(ack|settings)$/.test(topic));
    expect(messages).toEqual(own);
  });

  it('passes on no will but the one on the node’s own state', async () => {
    const will = (topic: string): IClientOptions => ({
      will: { topic, payload: Buffer.from('dropped'), qos: 1, retain: false },
    });
    for (const topic of [`v1/${tarn}/up/state`, `v1/${tarn}/down/settings`, '$SYS/x']) {
      const node = await connected(rushy, will(topic));
      node.stream.destroy();
    }
    const node = await connected(rushy, will(`v1/${rushy}/up/state`));
    node.stream.destroy();
    await vi.waitFor(() =>
      expect(heard).toEqual([{ topic: `v1/${rushy}/up/state`, text: 'dropped' }]),
    );
  });

  it('gives every node its own name as client id, so that nobody loses a session to another', async () => {
    const victim = await connected(rushy);
    const lost = vi.fn();
    victim.on('close', lost);
    await connected(tarn, { clientId: rushy });
    await victim.publishAsync(`v1/${rushy}/up/live`, 'still here', { qos: 1 });
    expect(lost).not.toHaveBeenCalled();
  });

  it('refuses a wrong secret, an unknown name and no name at all', async () => {
    for (const over of [
      { password: 'wrong' },
      { username: 'nobody-here' },
      { username: undefined, password: undefined } as unknown as IClientOptions,
    ]) {
      await expect(next(open(rushy, over), 'connect')).rejects.toThrow('Not authorized');
    }
  });

  it('ends the connection of a node that sends 300 KB, without acknowledging them', async () => {
    const node = await connected(rushy);
    const acknowledged = vi.fn();
    node.publish(`v1/${rushy}/up/live`, Buffer.alloc(300_000), { qos: 1 }, (error) => {
      if (!error) acknowledged();
    });
    await closed(node);
    expect(acknowledged).not.toHaveBeenCalled();
    expect(heard).toEqual([]);
  });

  it('lets a new node in within seconds, and ends the connection of one that was withdrawn', async () => {
    await expect(next(open('marl-beck'), 'connect')).rejects.toThrow();
    await writeMosquittoPassword(passwords, 'marl-beck', secretOf('marl-beck'));
    const node = await vi.waitFor(() => connected('marl-beck'), { timeout: 6000, interval: 200 });
    const stays = await connected(rushy);
    const lost = vi.fn();
    stays.on('close', lost);
    const gone = closed(node);
    await removeMosquittoPassword(passwords, 'marl-beck');
    await gone;
    await expect(next(open('marl-beck'), 'connect')).rejects.toThrow();
    expect(lost).not.toHaveBeenCalled();
  });
});

async function freePort(): Promise<number> {
  const server = createServer().listen(0, '127.0.0.1');
  await once(server, 'listening');
  const { port } = server.address() as AddressInfo;
  server.close();
  return port;
}

async function reachable(port: number): Promise<void> {
  const client = mqtt.connect({ host: '127.0.0.1', port, reconnectPeriod: 0 });
  client.on('error', () => undefined);
  const answer = new Promise<string>((resolve) => {
    client.once('connect', () => resolve('connected'));
    client.once('error', (error) => resolve(error.message));
  });
  const said = await answer;
  client.end(true);
  expect(said).toContain('Not authorized');
}
