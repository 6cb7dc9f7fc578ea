import type { NodeName, Packet } from '@duskline/domain';
import {
  startMosquitto,
  waitFor,
  whyNoMosquitto,
  type TestMosquitto,
} from '@duskline/test-harness';
import mqtt, { type IClientOptions, type MqttClient } from 'mqtt';
import { setTimeout as sleep } from 'node:timers/promises';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { connectConsumer, RetryLater, type Consumer, type ConsumerOptions } from './index.ts';

// The consumer against a real Mosquitto with the rules that ship; mqtt.js as the node.

const whyNot = await whyNoMosquitto();
if (whyNot !== undefined) console.warn(`SKIPPED: the consumer is not tested here: ${whyNot}.`);

const rushy = { name: 'rushy-sluice', password: 'secret-of-rushy' };
const server = { name: 'ingest-0', password: 'secret-of-the-server' };

describe.skipIf(whyNot !== undefined)('the consumer of an external broker', () => {
  let mosquitto: TestMosquitto;
  let consumers: Consumer[];
  let node: MqttClient;
  let received: string[];
  let sentences: string[];
  let receive: (packet: Packet) => Promise<void>;

  beforeAll(async () => {
    mosquitto = await startMosquitto({ consumers: [server], nodes: [rushy] });
  });
  afterAll(() => mosquitto.stop());

  beforeEach(async () => {
    [received, sentences, consumers] = [[], [], []];
    receive = record;
    await forgetSession();
    // Its session outlives the broker's restart: what is said before it is back waits for it.
    node = await open(rushy, { clean: false });
  });
  afterEach(async () => {
    await Promise.all(consumers.map((consumer) => consumer.close()));
    await node.endAsync(true);
  });

  const record = async (packet: Packet): Promise<void> => void received.push(textOf(packet));
  const textOf = ({ payload }: Packet): string => Buffer.from(payload).toString();
  const open = ({ name, password }: typeof rushy, over: IClientOptions = {}) =>
    mqtt.connectAsync(mosquitto.url, {
      clientId: name,
      username: name,
      password,
      protocolVersion: 4,
      reconnectPeriod: 200,
      ...over,
    });

  /** A clean session under the consumer's name takes the place of what an earlier test has left. */
  async function forgetSession(): Promise<void> {
    const client = await open(server, { clean: true, reconnectPeriod: 0 });
    await client.endAsync();
  }

  async function connect(over: Partial<ConsumerOptions> = {}): Promise<Consumer> {
    const say = (_facts: object, sentence: string) => void sentences.push(sentence);
    const consumer = await connectConsumer({
      url: mosquitto.url,
      clientId: server.name,
      username: server.name,
      password: server.password,
      receive: (packet) => receive(packet),
      log: { info: say, warn: say, error: say },
      ...over,
    });
    consumers.push(consumer);
    await waitFor('the consumer to connect', consumer.connected);
    await sleep(50); // its SUBSCRIBE is on the way
    return consumer;
  }

  const publish = (text: string, kind = 'live', over: object = {}) =>
    node.publishAsync(`v1/${rushy.name}/up/${kind}`, text, { qos: 1, ...over });
  const publishAll = (count: number) =>
    Promise.all(Array.from({ length: count }, (_, i) => publish(`m${i}`)));
  const allOf = (count: number) => Array.from({ length: count }, (_, i) => `m${i}`);

  it('takes what every node says, with its topic and content type', async () => {
    const packets: Packet[] = [];
    receive = async (packet) => void packets.push(packet);
    await connect();
    await node.endAsync();
    node = await open(rushy, { protocolVersion: 5 });
    const properties = { contentType: 'application/senml+json' };
    await publish('x', 'backlog', { properties });
    await waitFor('the message', () => packets.length === 1);
    expect(packets[0]).toMatchObject({
      topic: `v1/${rushy.name}/up/backlog`,
      contentType: 'application/senml+json',
    });
    expect(textOf(packets[0] as Packet)).toBe('x');
  });

  it('finds what came while it was away', async () => {
    await (await connect()).close();
    await publishAll(500);
    await connect();
    await waitFor('all messages', () => received.length >= 500);
    expect(received).toEqual(allOf(500));
    expect(sentences.at(-1)).toContain('kept what came meanwhile');
  });

  it('acknowledges nothing that was not stored: it disconnects, and the message comes again', async () => {
    let refusals = 3;
    receive = (packet) => {
      if (refusals === 0) return record(packet);
      refusals -= 1;
      return Promise.reject(new RetryLater('the store is away'));
    };
    await connect();
    await publish('kept');
    await waitFor('the message to be stored', () => received.length > 0, { withinMs: 15_000 });
    expect(received).toEqual(['kept']);
    expect(sentences.filter((s) => s.includes('disconnected on purpose'))).toHaveLength(3);
  });

  it('loses nothing when commits fail at random', async () => {
    let calls = 0;
    receive = async (packet) => {
      calls += 1;
      await sleep(1);
      if (calls % 400 === 399) throw new RetryLater('the store is away');
      return record(packet);
    };
    await connect();
    await publishAll(1500);
    await waitFor('all messages', () => new Set(received).size === 1500, { withinMs: 30_000 });
    expect([...new Set(received)].sort()).toEqual(allOf(1500).sort());
  });

  it('leaves a message it was killed with to its successor', async () => {
    receive = (packet) => {
      void record(packet);
      return new Promise(() => undefined);
    };
    await connect();
    await publish('in hand');
    await waitFor('the message', () => received.length === 1);
    // Its successor takes the name over, which ends the first connection as a crash would.
    receive = record;
    await connect();
    await waitFor('the message again', () => received.length === 2);
    expect(received).toEqual(['in hand', 'in hand']);
  });

  it('reads no further when too much is not yet stored, whatever the broker would send', async () => {
    const waiting: (() => void)[] = [];
    receive = (packet) => {
      void record(packet);
      return new Promise((resolve) => waiting.push(resolve));
    };
    await connect({ maxUnsettled: 100 });
    await publishAll(1000);
    await waitFor('the limit', () => waiting.length >= 100);
    await sleep(300);
    expect(waiting).toHaveLength(100);
    while (received.length < 1000 || waiting.length > 0) {
      for (const commit of waiting.splice(0)) commit();
      await sleep(5);
    }
    expect(received).toEqual(allOf(1000));
  });

  it('does not take old retained messages for new ones', async () => {
    await publish('old hello', 'state', { retain: true });
    await connect();
    await publish('new hello', 'state', { retain: true });
    await waitFor('the new one', () => received.length > 0);
    await sleep(100);
    expect(received).toEqual(['new hello']);
  });

  it('tells a node what is committed, also what it had to say while there was no connection', async () => {
    const told: string[] = [];
    node.on('message', (topic, payload) => told.push(`${topic} ${payload.toString()}`));
    await node.subscribeAsync(`v1/${rushy.name}/down/#`, { qos: 1 });
    const { publishAck, connected } = await connect();
    publishAck(rushy.name as NodeName, Buffer.from('{"boot":1,"seq":1}'));
    await waitFor('the first ack', () => told.length === 1);
    expect(told).toEqual([`v1/${rushy.name}/down/ack {"boot":1,"seq":1}`]);

    await mosquitto.pause();
    await waitFor('the connection to be lost', () => !connected());
    publishAck(rushy.name as NodeName, Buffer.from('{"boot":1,"seq":2}'));
    publishAck(rushy.name as NodeName, Buffer.from('{"boot":1,"seq":3}'));
    await mosquitto.restart();
    await waitFor('the last ack', () => told.some((text) => text.includes('"seq":3')), {
      withinMs: 15_000,
    });
    expect(told.some((text) => text.includes('"seq":2'))).toBe(false);
  });

  it('stores what it has taken, and acknowledges it, before it closes', async () => {
    let commit: () => void = () => undefined;
    receive = (packet) => {
      void record(packet);
      return new Promise((resolve) => (commit = resolve));
    };
    const first = await connect();
    await publish('last one');
    await waitFor('the message', () => received.length === 1);
    const closed = first.close();
    commit();
    await closed;
    receive = record;
    await connect();
    await publish('next one');
    await waitFor('the next message', () => received.length === 2);
    expect(received).toEqual(['last one', 'next one']);
  });

  it('waits for a broker that comes later', async () => {
    await mosquitto.pause();
    const late = connect();
    await sleep(300);
    await mosquitto.restart();
    await late;
  });
});
