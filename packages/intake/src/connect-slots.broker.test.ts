import {
  DEFAULT_CONSUMER,
  startMosquitto,
  waitFor,
  whyNoMosquitto,
  type TestMosquitto,
} from '@duskline/test-harness';
import mqtt from 'mqtt';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { connectSlots, type Slots } from './index.ts';

const whyNot = await whyNoMosquitto();
if (whyNot !== undefined) console.warn(`SKIPPED: slots are not tested here: ${whyNot}.`);

const node = { name: 'rushy-sluice', password: 'secret-of-rushy' };
const quiet = () => undefined;

/** Leases of a server that is alone. */
const leases = {
  take: async () => ({}),
  renew: async () => true,
  release: async () => undefined,
  list: async () => [],
};

describe.skipIf(whyNot !== undefined)('the slots at Mosquitto', () => {
  let mosquitto: TestMosquitto;
  const received: string[] = [];
  beforeAll(async () => {
    mosquitto = await startMosquitto({ nodes: [node] });
  });
  afterAll(() => mosquitto.stop());

  async function server(): Promise<Slots> {
    const slots = connectSlots({
      url: mosquitto.url,
      password: DEFAULT_CONSUMER.password,
      slots: 2,
      nameOf: (slot) => `ingest-${slot}`,
      holder: 'a',
      leases,
      log: { info: quiet, warn: quiet, error: quiet },
      receive: async ({ payload }) => void received.push(Buffer.from(payload).toString()),
    });
    await waitFor(
      'both slots to be connected',
      () => slots.held().length === 2 && slots.fault() === undefined,
    );
    return slots;
  }

  async function say(...words: readonly string[]): Promise<void> {
    const client = await mqtt.connectAsync(mosquitto.url, {
      clientId: node.name,
      username: node.name,
      password: node.password,
      protocolVersion: 4,
    });
    for (const word of words)
      await client.publishAsync(`v1/${node.name}/up/${word.split(' ')[0]}`, word, { qos: 1 });
    await client.endAsync();
  }

  // Found by E3: a plain node deletes what the broker has acknowledged, whoever listens.
  it.each(['restart', 'kill9'] as const)(
    'get what a broker took after its %s and before the server was back',
    async (how) => {
      received.length = 0;
      const before = await server();
      await say(`live 1 ${how}`, `backlog 1 ${how}`, `state 1 ${how}`);
      await waitFor('the first three', () => received.length === 3);
      await before.close();
      // What is older than two seconds is saved, subscriptions too.
      await new Promise((resolve) => setTimeout(resolve, 2500));
      if (how === 'kill9') await mosquitto.kill9();
      await mosquitto.restart();
      await say(`live 2 ${how}`, `backlog 2 ${how}`, `state 2 ${how}`);
      const after = await server();
      await waitFor('the others', () => received.length >= 6, { withinMs: 5000 }).catch(quiet);
      await after.close();
      expect([...received].sort()).toEqual(
        [1, 2]
          .flatMap((i) => ['live', 'backlog', 'state'].map((lane) => `${lane} ${i} ${how}`))
          .sort(),
      );
    },
  );
});
