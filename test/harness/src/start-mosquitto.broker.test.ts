import mqtt, { type MqttClient } from 'mqtt';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import {
  DEFAULT_CONSUMER,
  startMosquitto,
  whyNoMosquitto,
  type BrokerAccount,
  type TestMosquitto,
} from './start-mosquitto.ts';
import { waitFor } from './wait-for.ts';

const why = await whyNoMosquitto();
if (why !== undefined) console.warn(`SKIPPED: the Mosquitto of tests: ${why}.`);

const node: BrokerAccount = { name: 'tarn-gill', password: 'a-secret-of-tarn-gill' };
const topic = 'v1/tarn-gill/up/live';

describe.skipIf(why !== undefined)('the Mosquitto of tests', () => {
  let broker: TestMosquitto;
  const clients: MqttClient[] = [];

  beforeAll(async () => {
    broker = await startMosquitto({ nodes: [node] });
  });

  afterAll(async () => {
    for (const client of clients) client.end(true);
    await broker.stop();
  });

  const connect = async ({ name, password }: BrokerAccount): Promise<MqttClient> => {
    const client = await mqtt.connectAsync(broker.url, {
      ...{ clientId: name, username: name, password, reconnectPeriod: 0, clean: false },
    });
    clients.push(client);
    return client;
  };

  const heardBy = (client: MqttClient): string[] => {
    const heard: string[] = [];
    client.on('message', (_topic, payload) => heard.push(payload.toString()));
    return heard;
  };

  it('carries a message of a node to the server', async () => {
    const consumer = await connect(DEFAULT_CONSUMER);
    const heard = heardBy(consumer);
    await consumer.subscribeAsync('v1/+/up/#', { qos: 1 });
    const publisher = await connect(node);
    await publisher.publishAsync(topic, 'one', { qos: 1 });
    await waitFor('the message', () => heard.includes('one'));
    await consumer.endAsync();
    await publisher.endAsync();
  });

  it('refuses a wrong password, and takes a new one while it runs', async () => {
    const newcomer = { name: 'peat-hag', password: 'first-secret' };
    await expect(connect(newcomer)).rejects.toThrow(/not authori[sz]ed/i);
    await broker.setPassword(newcomer);
    await waitFor('the new account to be let in', async () => {
      await (await connect(newcomer)).endAsync();
      return true;
    });
  });

  it('keeps sessions over a restart on the same port, and comes back from SIGKILL', async () => {
    const publisher = await connect(node);
    await publisher.publishAsync(topic, 'while nobody listens', { qos: 1 });
    await publisher.endAsync();
    await broker.restart();
    const consumer = mqtt.connect(broker.url, {
      ...{ clientId: DEFAULT_CONSUMER.name, username: DEFAULT_CONSUMER.name, clean: false },
      ...{ password: DEFAULT_CONSUMER.password, reconnectPeriod: 0 },
    });
    clients.push(consumer);
    const heard = heardBy(consumer);
    await waitFor('the message kept for the session', () => heard.includes('while nobody listens'));
    await broker.kill9();
    await waitFor('the connection to break', () => !consumer.connected);
    await broker.restart();
    const again = await connect(node);
    await again.endAsync();
  });
});
