import type { NodeName, Packet } from '@duskline/domain';
import mqtt, { type IClientOptions, type MqttClient } from 'mqtt';
import { once } from 'node:events';
import { connect as connectSocket, type Socket } from 'node:net';
import { setTimeout as sleep } from 'node:timers/promises';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { startEmbeddedBroker, type EmbeddedBroker, type Refusal } from './index.ts';

// The real broker on a loopback port, mqtt.js as the node. What MQTT asks for is cited from OASIS MQTT 3.1.1.

const rushy = 'rushy-sluice' as NodeName;
const tarn = 'tarn-gill' as NodeName;
const secrets: Readonly<Record<string, string>> = {
  [rushy]: 'secret-of-rushy',
  [tarn]: 'secret-of-tarn',
};

type Receive = (packet: Packet, from: NodeName) => Promise<void>;

let broker: EmbeddedBroker;
let received: { topic: string; text: string; from: NodeName }[];
let refused: Refusal[];
let receive: Receive;
let clients: MqttClient[];
let sockets: Socket[];

const record: Receive = async (packet, from) => {
  received.push({ topic: packet.topic, text: Buffer.from(packet.payload).toString(), from });
};

const silent = { info: () => undefined, warn: () => undefined, error: () => undefined };

const start = (over: Partial<Parameters<typeof startEmbeddedBroker>[0]> = {}) =>
  startEmbeddedBroker({
    port: 0,
    host: '127.0.0.1',
    verifySecret: async (name, secret) => secrets[name] === Buffer.from(secret).toString(),
    receive: (packet, from) => receive(packet, from),
    log: silent,
    onRefused: (refusal) => refused.push(refusal),
    ...over,
  });

beforeEach(async () => {
  [received, refused, clients, sockets] = [[], [], [], []];
  receive = record;
  broker = await start();
});

afterEach(async () => {
  for (const socket of sockets) socket.destroy();
  await Promise.all(clients.map((client) => client.endAsync(true)));
  await broker.close();
});

const next = <T extends unknown[]>(client: MqttClient, event: string): Promise<T> =>
  once(client as unknown as NodeJS.EventEmitter, event) as Promise<T>;

function open(node: string, over: IClientOptions = {}): MqttClient {
  const client = mqtt.connect({
    host: '127.0.0.1',
    port: broker.port,
    protocolVersion: 4,
    clientId: node,
    username: node,
    password: secrets[node] ?? 'none',
    reconnectPeriod: 0,
    ...over,
  });
  client.on('error', () => undefined);
  clients.push(client);
  return client;
}

async function connected(node: string, over: IClientOptions = {}): Promise<MqttClient> {
  const client = open(node, over);
  await next(client, 'connect');
  return client;
}

/** The CONNACK return code a connection is refused with. */
async function refusalCode(node: string, over: IClientOptions = {}): Promise<number> {
  const [error] = await next<[Error & { code: number }]>(open(node, over), 'error');
  return error.code;
}

const closed = (client: MqttClient): Promise<void> =>
  new Promise((resolve) => client.once('close', resolve));

describe('a publish', () => {
  it('is acknowledged after the commit and not before', async () => {
    let commit: () => void = () => undefined;
    receive = () => new Promise((resolve) => (commit = resolve));
    const client = await connected(rushy);
    const acknowledged = vi.fn();
    const published = client.publishAsync(`v1/${rushy}/up/live`, 'x', { qos: 1 });
    void published.then(acknowledged);
    await sleep(150);
    expect(acknowledged).not.toHaveBeenCalled();
    commit();
    await published;
  });

  it('that could not be stored is not acknowledged; the node sends it again on its next connection', async () => {
    let down = true;
    receive = (packet, from) =>
      down ? Promise.reject(new Error('the store is away')) : record(packet, from);
    const client = await connected(rushy, { reconnectPeriod: 100, clean: false });
    const published = client.publishAsync(`v1/${rushy}/up/live`, 'reading', { qos: 1 });
    await closed(client);
    expect(refused.at(-1)).toMatchObject({ code: 'not-stored', node: rushy });
    expect(refused.at(-1)?.reason).toContain('the store is away');
    expect(received).toEqual([]);
    down = false;
    await published;
    expect(received.map((m) => m.text)).toEqual(['reading']);
  });

  it('whose connection is lost before the commit comes again', async () => {
    const commits: (() => void)[] = [];
    receive = (packet, from) => {
      void record(packet, from);
      return new Promise((resolve) => commits.push(resolve));
    };
    const client = await connected(rushy, { reconnectPeriod: 100, clean: false });
    const published = client.publishAsync(`v1/${rushy}/up/live`, 'reading', { qos: 1 });
    await vi.waitFor(() => expect(commits).toHaveLength(1));
    client.stream.destroy();
    await vi.waitFor(() => expect(commits).toHaveLength(2));
    for (const commit of commits) commit();
    await published;
    expect(received.map((m) => m.text)).toEqual(['reading', 'reading']);
  });

  it.each([0, 1, 2] as const)('of QoS %i is received', async (qos) => {
    const client = await connected(rushy);
    await client.publishAsync(`v1/${rushy}/up/backlog`, 'x', { qos });
    await vi.waitFor(() =>
      expect(received).toEqual([{ topic: `v1/${rushy}/up/backlog`, text: 'x', from: rushy }]),
    );
  });

  it('is acknowledged in the order of its coming, whichever commit is first [MQTT-4.6.0-2]', async () => {
    const commits = new Map<string, () => void>();
    receive = ({ payload }) =>
      new Promise((resolve) => commits.set(Buffer.from(payload).toString(), resolve));
    const client = await connected(rushy);
    const order: string[] = [];
    const all = ['a', 'b', 'c'].map(async (text) => {
      await client.publishAsync(`v1/${rushy}/up/live`, text, { qos: 1 });
      order.push(text);
    });
    await vi.waitFor(() => expect(commits.size).toBe(3));
    for (const text of ['c', 'b', 'a']) commits.get(text)?.();
    await Promise.all(all);
    expect(order).toEqual(['a', 'b', 'c']);
  });

  it('is taken from one node while another waits for its commit', async () => {
    receive = (packet, from) =>
      from === tarn ? new Promise(() => undefined) : record(packet, from);
    const [slow, quick] = await Promise.all([connected(tarn), connected(rushy)]);
    slow.publish(`v1/${tarn}/up/live`, 'slow', { qos: 1 });
    await quick.publishAsync(`v1/${rushy}/up/live`, 'quick', { qos: 1 });
    expect(received.map((m) => m.text)).toEqual(['quick']);
    slow.end(true);
  });

  it('is kept as a retained message only when it tells the state', async () => {
    const client = await connected(rushy);
    await client.publishAsync(`v1/${rushy}/up/live`, 'x', { qos: 1, retain: true });
    await client.publishAsync(`v1/${rushy}/up/state`, 'hello', { qos: 1, retain: true });
    expect(received.map((m) => m.text)).toEqual(['x', 'hello']);
    expect(refused).toEqual([]);
  });
});

describe('a connection', () => {
  it('with a wrong secret, or a name nobody has, is refused with the same word [MQTT-3.2.2.3: 4]', async () => {
    expect(await refusalCode(rushy, { password: 'wrong' })).toBe(4);
    expect(await refusalCode('no-such-node')).toBe(4);
    expect(await refusalCode('Not A Name')).toBe(4);
    expect(await refusalCode(rushy, { username: undefined, password: undefined } as never)).toBe(4);
    expect(refused.map((r) => r.code)).toEqual([
      'secret-wrong',
      'secret-wrong',
      'name-malformed',
      'name-malformed',
    ]);
  });

  it('is told to come back when secrets cannot be checked [MQTT-3.2.2.3: 3]', async () => {
    await broker.close();
    broker = await start({ verifySecret: () => Promise.reject(new Error('the store is away')) });
    expect(await refusalCode(rushy)).toBe(3);
  });

  it('under another client id is refused, and the node that has the name keeps its own', async () => {
    const victim = await connected(rushy);
    const lost = vi.fn();
    victim.on('close', lost);
    expect(await refusalCode(tarn, { clientId: rushy })).toBe(2);
    expect(refused.at(-1)).toMatchObject({ code: 'client-id-foreign', node: tarn });
    await victim.publishAsync(`v1/${rushy}/up/live`, 'still here', { qos: 1 });
    expect(lost).not.toHaveBeenCalled();
  });

  it('without a client id gets the name of its node', async () => {
    const client = await connected(rushy, { clientId: '' });
    await client.publishAsync(`v1/${rushy}/up/live`, 'x', { qos: 1 });
    expect(received[0]?.from).toBe(rushy);
    expect(broker.connectedNodes()).toEqual([rushy]);
  });

  it('is not tried again at once after ten wrong secrets, yet other nodes at the same address are', async () => {
    for (let i = 0; i < 10; i += 1) await refusalCode(rushy, { password: 'wrong' });
    expect(await refusalCode(rushy)).toBe(4);
    expect(refused.at(-1)?.code).toBe('too-many-attempts');
    await connected(tarn);
  });

  it('beyond the limit is turned away while the others stay', async () => {
    await broker.close();
    broker = await start({ maxConnections: 1 });
    const first = await connected(rushy);
    await closed(open(tarn));
    expect(refused.at(-1)?.code).toBe('connections-full');
    await first.publishAsync(`v1/${rushy}/up/live`, 'x', { qos: 1 });
  });

  it('ends when the node is withdrawn', async () => {
    const client = await connected(rushy);
    const gone = closed(client);
    broker.disconnectNode(rushy);
    await gone;
    expect(broker.connectedNodes()).toEqual([]);
  });
});

const longTopic = `v1/${rushy}/up/live${'/x'.repeat(200)}`;

describe('topics a node may not publish to', () => {
  const foreign = [
    `v1/${tarn}/up/live`,
    `v1/${tarn}/up/backlog`,
    `v1/${tarn}/up/state`,
    `v1/${tarn}/down/ack`,
    `v1/${rushy}/down/ack`,
    `v1/${rushy}/down/settings`,
    `v1/${rushy}/up`,
    `v1/${rushy}/up/`,
    `v1/${rushy}/up/live/`,
    `/v1/${rushy}/up/live`,
    `v1/${rushy}//up/live`,
    `v1//up/live`,
    `v1/${rushy}/up/live/more`,
    `v1/${rushy}/up/other`,
    `v1/${rushy.toUpperCase()}/up/live`,
    `V1/${rushy}/up/live`,
    `v2/${rushy}/up/live`,
    `v1/${rushy} /up/live`,
    ` v1/${rushy}/up/live`,
    `v1/${rushy}/up/live `,
    'v1/rushy\u2010sluice/up/live',
    'v1/rushy-slu\u0456ce/up/live',
    'v1/rushy-sluice\u200b/up/live',
    'v1/rushy-sluice\ufeff/up/live',
    `v1/../v1/${rushy}/up/live`,
    `v1/${rushy}/up/l\u0131ve`,
    `v1/__proto__/up/live`,
    `v1/constructor/up/live`,
    '$SYS/x/new/clients',
    '$SYS/broker/uptime',
    '$CONTROL/dynamic-security/v1',
    `$share/g/v1/${rushy}/up/live`,
    `$v1/${rushy}/up/live`,
    '$',
    '/',
    'x',
    longTopic,
    'y'.repeat(65_535),
    '#',
    `v1/${rushy}/up/#`,
    `v1/+/up/live`,
    '+',
  ];

  it.each(foreign.map((topic) => [topic.slice(0, 60), topic]))('%s', async (_shown, topic) => {
    const client = await connected(rushy);
    const acknowledged = vi.fn();
    client.publish(topic, 'x', { qos: 1, retain: true }, (error) => {
      if (!error) acknowledged();
    });
    await closed(client);
    expect(acknowledged).not.toHaveBeenCalled();
    expect(received).toEqual([]);
    expect(refused).toHaveLength(1);
    expect(refused[0]).toMatchObject({ node: rushy });
    expect(['publish-foreign', 'packet-malformed']).toContain(refused[0]?.code);
  });

  it('not even the one by which aedes closes other clients', async () => {
    const victim = await connected(tarn);
    const lost = vi.fn();
    victim.on('close', lost);
    const client = await connected(rushy);
    client.publish('$SYS/another-broker/new/clients', tarn, { qos: 0 });
    await closed(client);
    await victim.publishAsync(`v1/${tarn}/up/live`, 'still here', { qos: 1 });
    expect(lost).not.toHaveBeenCalled();
  });
});

describe('filters a node may not subscribe to', () => {
  const foreign = [
    '#',
    '+',
    '+/#',
    '+/+/down/ack',
    'v1/#',
    'v1/+/down/#',
    'v1/+/down/ack',
    'v1/+/up/#',
    `v1/${tarn}/down/ack`,
    `v1/${tarn}/down/#`,
    `v1/${tarn}/#`,
    `v1/${rushy}/#`,
    `v1/${rushy}/+/ack`,
    `v1/${rushy}/up/#`,
    `v1/${rushy}/up/state`,
    `v1/${rushy}/down`,
    `v1/${rushy}/down/`,
    `v1/${rushy}/down/ack/`,
    `v1/${rushy}/down/ack/#`,
    `v1/${rushy}/down/+/#`,
    `v1/${rushy}//down/ack`,
    `/v1/${rushy}/down/ack`,
    `/${'#'}`,
    `v1/${rushy.toUpperCase()}/down/ack`,
    'v1/rushy\u2010sluice/down/ack',
    'v1/rushy-sluice\u200b/down/#',
    '$SYS/#',
    '$SYS/+/new/clients',
    '$CONTROL/#',
    '$share/g/#',
    `$share/g/v1/${tarn}/down/ack`,
    `$share/g/v1/${rushy}/down/ack`,
    `$queue/v1/${tarn}/down/ack`,
  ];

  it.each(foreign)('%s', async (filter) => {
    const client = await connected(rushy);
    const messages: string[] = [];
    client.on('message', (topic) => messages.push(topic));
    const granted = await client.subscribeAsync(filter, { qos: 1 }).catch(() => 'refused');
    expect(granted).toBe('refused');
    expect(refused[0]).toMatchObject({ code: 'subscribe-foreign', node: rushy, topic: filter });

    await client.subscribeAsync(`v1/${rushy}/down/#`, { qos: 1 });
    broker.publishAck(tarn, Buffer.from('for tarn'));
    broker.publish(`v1/${tarn}/down/settings`, Buffer.from('for tarn'), { retain: true });
    broker.publishAck(rushy, Buffer.from('for rushy'));
    await vi.waitFor(() => expect(messages).toContain(`v1/${rushy}/down/ack`));
    expect(messages).toEqual([`v1/${rushy}/down/ack`]);
  });

  it('deeper than the broker looks: the connection ends', async () => {
    const client = await connected(rushy);
    client.subscribe(`v1/${rushy}/down${'/x'.repeat(200)}`);
    await closed(client);
  });

  it('do not slip in beside one that is allowed, not even into a session that is kept', async () => {
    const session = { clean: false };
    const first = await connected(rushy, session);
    const asked = [`v1/${rushy}/down/ack`, `v1/${tarn}/down/ack`, 'v1/+/down/settings', '#'];
    await first.subscribeAsync(asked, { qos: 1 }).catch(() => undefined);
    await first.endAsync();
    broker.publishAck(tarn, Buffer.from('for tarn'));
    broker.publish(`v1/${tarn}/down/settings`, Buffer.from('for tarn'), { retain: true });
    broker.publishAck(rushy, Buffer.from('for rushy'));

    const messages: string[] = [];
    const again = open(rushy, session);
    again.on('message', (topic) => messages.push(topic));
    await vi.waitFor(() => expect(messages).toContain(`v1/${rushy}/down/ack`));
    await sleep(100);
    expect(messages).toEqual([`v1/${rushy}/down/ack`]);
  });
});

describe('what a node is told', () => {
  it('reaches one that is connected at once, with QoS 1', async () => {
    const client = await connected(rushy);
    await client.subscribeAsync(`v1/${rushy}/down/ack`, { qos: 1 });
    const arrived = next<[string, Buffer, { qos: number }]>(client, 'message');
    broker.publishAck(rushy, Buffer.from('{"boot":7,"seq":41}'));
    const [topic, payload, packet] = await arrived;
    expect(topic).toBe(`v1/${rushy}/down/ack`);
    expect(payload.toString()).toBe('{"boot":7,"seq":41}');
    expect(packet.qos).toBe(1);
  });

  it('waits for one that keeps its session', async () => {
    const first = await connected(rushy, { clean: false });
    await first.subscribeAsync(`v1/${rushy}/down/ack`, { qos: 1 });
    await first.endAsync();
    broker.publishAck(rushy, Buffer.from('while away'));
    const again = open(rushy, { clean: false });
    const [, payload] = await next<[string, Buffer]>(again, 'message');
    expect(payload.toString()).toBe('while away');
  });

  it('includes the settings that were kept for it', async () => {
    broker.publish(`v1/${rushy}/down/settings`, Buffer.from('settings'), { retain: true });
    const client = await connected(rushy);
    const arrived = next<[string, Buffer]>(client, 'message');
    await client.subscribeAsync(`v1/${rushy}/down/+`, { qos: 1 });
    const [topic, payload] = await arrived;
    expect([topic, payload.toString()]).toEqual([`v1/${rushy}/down/settings`, 'settings']);
  });
});

describe('a will', () => {
  const will = (topic: string): IClientOptions => ({
    will: { topic, payload: Buffer.from('dropped'), qos: 1, retain: true },
  });

  it.each([
    `v1/${tarn}/up/state`,
    `v1/${rushy}/up/live`,
    `v1/${rushy}/down/settings`,
    '$SYS/x/new/clients',
    `v1/${rushy}/up/state/`,
    longTopic,
  ])('on %s is refused when the node connects [MQTT-3.2.2.3: 5]', async (topic) => {
    expect(await refusalCode(rushy, will(topic))).toBe(5);
    expect(refused.at(-1)).toMatchObject({ code: 'will-foreign', node: rushy });
    await sleep(20);
    expect(received).toEqual([]);
  });

  it('on its own state is stored when the link drops [MQTT-3.1.2-8]', async () => {
    const client = await connected(rushy, will(`v1/${rushy}/up/state`));
    client.stream.destroy();
    await vi.waitFor(() =>
      expect(received).toEqual([{ topic: `v1/${rushy}/up/state`, text: 'dropped', from: rushy }]),
    );
  });

  it('is dropped when the node says goodbye [MQTT-3.14.4-3]', async () => {
    const client = await connected(rushy, will(`v1/${rushy}/up/state`));
    await client.endAsync();
    await sleep(50);
    expect(received).toEqual([]);
  });

  it('says nothing when it was the server that ended the connection', async () => {
    const first = await connected(rushy, will(`v1/${rushy}/up/state`));
    const gone = closed(first);
    broker.disconnectNode(rushy);
    await gone;
    await connected(rushy, will(`v1/${rushy}/up/state`));
    await broker.close();
    expect(received).toEqual([]);
    broker = await start();
  });
});

describe('a packet of 300 KB', () => {
  it('is refused with a plain reason, and nobody else notices', async () => {
    const [big, other] = await Promise.all([connected(rushy), connected(tarn)]);
    const acknowledged = vi.fn();
    big.publish(`v1/${rushy}/up/backlog`, Buffer.alloc(300_000, 'z'), { qos: 1 }, (error) => {
      if (!error) acknowledged();
    });
    await closed(big);
    expect(acknowledged).not.toHaveBeenCalled();
    expect(refused).toHaveLength(1);
    expect(refused[0]).toMatchObject({
      code: 'packet-too-large',
      node: rushy,
      topic: `v1/${rushy}/up/backlog`,
    });
    // 300,000 of payload, 2 + 26 of topic, 2 of packet id, 4 of fixed header (MQTT 3.1.1 §2.2, §3.3).
    expect(refused[0]?.bytes).toBe(300_034);
    expect(refused[0]?.reason).toContain('262144');
    await other.publishAsync(`v1/${tarn}/up/live`, 'x', { qos: 1 });
    expect(received).toEqual([{ topic: `v1/${tarn}/up/live`, text: 'x', from: tarn }]);
  });

  it('does not take what was sent before it along', async () => {
    const client = await connected(rushy);
    client.stream.cork();
    const small = client.publishAsync(`v1/${rushy}/up/live`, 'small', { qos: 1 });
    client.publish(`v1/${rushy}/up/live`, Buffer.alloc(300_000), { qos: 1 });
    client.stream.uncork();
    await small;
    await vi.waitFor(() => expect(refused.at(-1)?.code).toBe('packet-too-large'));
    expect(received.map((m) => m.text)).toEqual(['small']);
  });

  it('leaves a packet of exactly the limit alone', async () => {
    const client = await connected(rushy);
    const overhead = 1 + 3 + 2 + `v1/${rushy}/up/live`.length + 2;
    const payload = Buffer.alloc(262_144 - overhead, 'z');
    await client.publishAsync(`v1/${rushy}/up/live`, payload, { qos: 1 });
    expect(received[0]?.text).toHaveLength(payload.length);
  });
});

describe('bytes that are not MQTT', () => {
  it.each([
    ['an HTTP request', Buffer.from('GET / HTTP/1.1\r\nHost: x\r\n\r\n')],
    ['nothing but 0xff', Buffer.alloc(100, 0xff)],
    ['a publish before CONNECT', Buffer.from([0x30, 0x03, 0, 1, 0x61])],
    ['a length of five bytes', Buffer.from([0x10, 0xff, 0xff, 0xff, 0xff, 0x7f])],
    ['MQTT 5', Buffer.from([0x10, 13, 0, 4, 0x4d, 0x51, 0x54, 0x54, 5, 2, 0, 60, 0, 0, 0])],
  ])('%s end that connection and no other', async (_name, bytes) => {
    const other = await connected(tarn);
    const socket = connectSocket(broker.port, '127.0.0.1');
    sockets.push(socket);
    socket.on('error', () => undefined);
    socket.resume();
    const gone = new Promise((resolve) => socket.once('close', resolve));
    socket.write(bytes);
    await gone;
    await other.publishAsync(`v1/${tarn}/up/live`, 'x', { qos: 1 });
  });
});

describe('starting and stopping', () => {
  it('says plainly that the port is taken', async () => {
    await expect(start({ port: broker.port })).rejects.toMatchObject({
      code: 'broker-port-taken',
      message: `Another program already listens on 127.0.0.1:${broker.port}, the MQTT port. Stop it, or choose another port.`,
    });
  });

  it('answers what it has taken before it closes', async () => {
    let commit: () => void = () => undefined;
    receive = () => new Promise((resolve) => (commit = resolve));
    const client = await connected(rushy);
    const published = client.publishAsync(`v1/${rushy}/up/live`, 'x', { qos: 1 });
    await sleep(50);
    const stopped = broker.close();
    await sleep(50);
    commit();
    await published;
    await stopped;
    broker = await start();
  });
});
