import { connect as connectSocket } from 'node:net';
import { setTimeout as sleep } from 'node:timers/promises';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { BrokerUnderTest, closed, next, rushy, tarn } from './testing/broker-under-test.ts';

// What MQTT asks for is cited from OASIS MQTT 3.1.1.

let test: BrokerUnderTest;
beforeEach(async () => {
  test = new BrokerUnderTest();
  await test.start();
});
afterEach(() => test.stop());

describe('a publish', () => {
  it('is acknowledged after the commit and not before', async () => {
    let commit: () => void = () => undefined;
    test.receive = () => new Promise((resolve) => (commit = resolve));
    const client = await test.connected(rushy);
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
    test.receive = (packet, from) =>
      down ? Promise.reject(new Error('the store is away')) : test.record(packet, from);
    const client = await test.connected(rushy, { reconnectPeriod: 100, clean: false });
    const published = client.publishAsync(`v1/${rushy}/up/live`, 'reading', { qos: 1 });
    await closed(client);
    expect(test.refused.at(-1)).toMatchObject({ code: 'not-stored', node: rushy });
    expect(test.refused.at(-1)?.reason).toContain('the store is away');
    expect(test.received).toEqual([]);
    down = false;
    await published;
    expect(test.texts()).toEqual(['reading']);
  });

  it('whose connection is lost before the commit comes again', async () => {
    const commits: (() => void)[] = [];
    test.receive = (packet, from) => {
      void test.record(packet, from);
      return new Promise((resolve) => commits.push(resolve));
    };
    const client = await test.connected(rushy, { reconnectPeriod: 100, clean: false });
    const published = client.publishAsync(`v1/${rushy}/up/live`, 'reading', { qos: 1 });
    await vi.waitFor(() => expect(commits).toHaveLength(1));
    client.stream.destroy();
    await vi.waitFor(() => expect(commits).toHaveLength(2));
    for (const commit of commits) commit();
    await published;
    expect(test.texts()).toEqual(['reading', 'reading']);
  });

  it.each([0, 1, 2] as const)('of QoS %i is received', async (qos) => {
    const client = await test.connected(rushy);
    await client.publishAsync(`v1/${rushy}/up/backlog`, 'x', { qos });
    await vi.waitFor(() =>
      expect(test.received).toEqual([{ topic: `v1/${rushy}/up/backlog`, text: 'x', from: rushy }]),
    );
  });

  it('is acknowledged in the order of its coming, whichever commit is first [MQTT-4.6.0-2]', async () => {
    const commits = new Map<string, () => void>();
    test.receive = ({ payload }) =>
      new Promise((resolve) => commits.set(Buffer.from(payload).toString(), resolve));
    const client = await test.connected(rushy);
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
    let commit: () => void = () => undefined;
    test.receive = (packet, from) =>
      from === tarn ? new Promise((resolve) => (commit = resolve)) : test.record(packet, from);
    const [slow, quick] = await Promise.all([test.connected(tarn), test.connected(rushy)]);
    slow.publish(`v1/${tarn}/up/live`, 'slow', { qos: 1 });
    await quick.publishAsync(`v1/${rushy}/up/live`, 'quick', { qos: 1 });
    expect(test.texts()).toEqual(['quick']);
    commit();
  });

  it('is kept as a retained message only when it tells the state', async () => {
    const client = await test.connected(rushy);
    await client.publishAsync(`v1/${rushy}/up/live`, 'x', { qos: 1, retain: true });
    await client.publishAsync(`v1/${rushy}/up/state`, 'hello', { qos: 1, retain: true });
    expect(test.texts()).toEqual(['x', 'hello']);
    expect(test.refused).toEqual([]);
  });
});

describe('what a node is told', () => {
  it('reaches one that is connected at once, with QoS 1', async () => {
    const client = await test.connected(rushy);
    await client.subscribeAsync(`v1/${rushy}/down/ack`, { qos: 1 });
    const arrived = next<[string, Buffer, { qos: number }]>(client, 'message');
    test.broker.publishAck(rushy, Buffer.from('{"boot":7,"seq":41}'));
    const [topic, payload, packet] = await arrived;
    expect(topic).toBe(`v1/${rushy}/down/ack`);
    expect(payload.toString()).toBe('{"boot":7,"seq":41}');
    expect(packet.qos).toBe(1);
  });

  it('waits for one that keeps its session', async () => {
    const first = await test.connected(rushy, { clean: false });
    await first.subscribeAsync(`v1/${rushy}/down/ack`, { qos: 1 });
    await first.endAsync();
    test.broker.publishAck(rushy, Buffer.from('while away'));
    const again = test.open(rushy, { clean: false });
    const [, payload] = await next<[string, Buffer]>(again, 'message');
    expect(payload.toString()).toBe('while away');
  });

  it('includes the settings that were kept for it', async () => {
    test.broker.publish(`v1/${rushy}/down/settings`, Buffer.from('settings'), { retain: true });
    const client = await test.connected(rushy);
    const arrived = next<[string, Buffer]>(client, 'message');
    await client.subscribeAsync(`v1/${rushy}/down/+`, { qos: 1 });
    const [topic, payload] = await arrived;
    expect([topic, payload.toString()]).toEqual([`v1/${rushy}/down/settings`, 'settings']);
  });
});

describe('a packet of 300 KB', () => {
  it('is refused with a plain reason, and nobody else notices', async () => {
    const [big, other] = await Promise.all([test.connected(rushy), test.connected(tarn)]);
    const acknowledged = vi.fn();
    big.publish(`v1/${rushy}/up/backlog`, Buffer.alloc(300_000, 'z'), { qos: 1 }, (error) => {
      if (!error) acknowledged();
    });
    await closed(big);
    expect(acknowledged).not.toHaveBeenCalled();
    expect(test.refused).toHaveLength(1);
    expect(test.refused[0]).toMatchObject({
      code: 'packet-too-large',
      node: rushy,
      topic: `v1/${rushy}/up/backlog`,
    });
    // 300,000 of payload, 2 + 26 of topic, 2 of packet id, 4 of fixed header (MQTT 3.1.1 §2.2, §3.3).
    expect(test.refused[0]?.bytes).toBe(300_034);
    expect(test.refused[0]?.reason).toContain('262144');
    await other.publishAsync(`v1/${tarn}/up/live`, 'x', { qos: 1 });
    expect(test.received).toEqual([{ topic: `v1/${tarn}/up/live`, text: 'x', from: tarn }]);
  });

  it('does not take what was sent before it along', async () => {
    const client = await test.connected(rushy);
    client.stream.cork();
    const small = client.publishAsync(`v1/${rushy}/up/live`, 'small', { qos: 1 });
    client.publish(`v1/${rushy}/up/live`, Buffer.alloc(300_000), { qos: 1 });
    client.stream.uncork();
    await small;
    await vi.waitFor(() => expect(test.refused.at(-1)?.code).toBe('packet-too-large'));
    expect(test.texts()).toEqual(['small']);
  });

  it('leaves a packet of exactly the limit alone', async () => {
    const client = await test.connected(rushy);
    const overhead = 1 + 3 + 2 + `v1/${rushy}/up/live`.length + 2;
    const payload = Buffer.alloc(262_144 - overhead, 'z');
    await client.publishAsync(`v1/${rushy}/up/live`, payload, { qos: 1 });
    expect(test.received[0]?.text).toHaveLength(payload.length);
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
    const other = await test.connected(tarn);
    const socket = connectSocket(test.broker.port, '127.0.0.1');
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
    await expect(test.another({ port: test.broker.port })).rejects.toMatchObject({
      code: 'broker-port-taken',
      message: `Another program already listens on 127.0.0.1:${test.broker.port}, the MQTT port. Stop it, or choose another port.`,
    });
  });

  it('answers what it has taken before it closes', async () => {
    let commit: () => void = () => undefined;
    test.receive = () => new Promise((resolve) => (commit = resolve));
    const client = await test.connected(rushy);
    const published = client.publishAsync(`v1/${rushy}/up/live`, 'x', { qos: 1 });
    await sleep(50);
    const stopped = test.broker.close();
    await sleep(50);
    commit();
    await published;
    await stopped;
    await test.start();
  });
});
