import { parseNodeName, type NodeName } from '@duskline/domain';
import { encodeMessage, topicFor } from '@duskline/wire';
import mqtt, { type MqttClient } from 'mqtt';
import { loadMetrics, loadValues } from './load-shape.ts';

export interface LoadNode {
  readonly name: string;
  readonly secret: string;
}

/** What the bench tells this process to do. */
export interface BacklogOrder {
  readonly url: string;
  /** They send their past, and a fresh reading now and then by the same connection, as a node does. */
  readonly pastNodes: readonly LoadNode[];
  /** They have no past, and send fresh readings only, each by a connection of its own. */
  readonly freshNodes: readonly LoadNode[];
  readonly samplesPerNode: number;
  readonly samplesPerMessage: number;
  readonly everyMs: number;
  readonly startMs: number;
  /** Packs of one node on their way at once. */
  readonly inFlight: number;
  readonly liveEveryMs: number;
}

/** A fresh reading: whose, and the wall clock when it was handed to the connection, which is its observed time. */
export interface FreshReading {
  readonly name: string;
  readonly sentMs: number;
}

export interface BacklogDone {
  readonly seconds: number;
  readonly fresh: readonly FreshReading[];
}

const connect = (url: string, { name, secret }: LoadNode): Promise<MqttClient> =>
  mqtt.connectAsync(url, {
    clientId: name,
    username: name,
    password: secret,
    protocolVersion: 4,
    clean: true,
  });

/** Sends a fresh reading at its pace. @returns stops it, and resolves when the last one is acknowledged */
function speak(
  client: MqttClient,
  { name, index, everyMs, note }: SpeakOptions,
): () => Promise<void> {
  const spoken: Promise<unknown>[] = [];
  let seq = 0;
  const timer = setInterval(() => {
    const atMs = Date.now();
    const samples = [{ observedAtMs: atMs, metrics: loadMetrics, values: loadValues(index, atMs) }];
    const node = parseNodeName(name) as NodeName;
    const message = encodeMessage({ node, place: { boot: 2, seq: ++seq }, samples });
    note({ name, sentMs: atMs });
    spoken.push(client.publishAsync(topicFor(node, 'live'), Buffer.from(message), { qos: 1 }));
  }, everyMs);
  return async () => {
    clearInterval(timer);
    await Promise.all(spoken);
  };
}

interface SpeakOptions {
  readonly name: string;
  readonly index: number;
  readonly everyMs: number;
  readonly note: (reading: FreshReading) => void;
}

async function sendOnePast(client: MqttClient, name: string, index: number, order: BacklogOrder) {
  const node = parseNodeName(name) as NodeName;
  const messages = Math.ceil(order.samplesPerNode / order.samplesPerMessage);
  let next = 0;
  const send = async (): Promise<void> => {
    while (next < messages) {
      const message = next++;
      const first = message * order.samplesPerMessage;
      const count = Math.min(order.samplesPerMessage, order.samplesPerNode - first);
      const samples = Array.from({ length: count }, (_, i) => ({
        observedAtMs: order.startMs + (first + i) * order.everyMs,
        metrics: loadMetrics,
        values: loadValues(index, order.startMs + (first + i) * order.everyMs),
      }));
      const place = { boot: 1, seq: message + 1 };
      const bytes = encodeMessage({ node, place, samples }, 'cbor');
      await client.publishAsync(topicFor(node, 'backlog'), Buffer.from(bytes), { qos: 1 });
    }
  };
  await Promise.all(Array.from({ length: order.inFlight }, send));
}

/** Every node sends its past as fast as it is taken, while these and others send fresh readings. */
async function sendPast(order: BacklogOrder): Promise<BacklogDone> {
  const fresh: FreshReading[] = [];
  const note = (reading: FreshReading) => void fresh.push(reading);
  const clients = await Promise.all(
    [...order.pastNodes, ...order.freshNodes].map((node) => connect(order.url, node)),
  );
  const startedMs = performance.now();
  const stops = clients.map((client, index) => {
    const { name = '' } = [...order.pastNodes, ...order.freshNodes][index] ?? {};
    return speak(client, { name, index, everyMs: order.liveEveryMs, note });
  });
  await Promise.all(
    order.pastNodes.map(async ({ name }, index) => {
      const client = clients[index];
      if (client !== undefined) await sendOnePast(client, name, index, order);
    }),
  );
  const seconds = (performance.now() - startedMs) / 1000;
  await Promise.all(stops.map((stop) => stop()));
  await Promise.all(clients.map((client) => client.endAsync()));
  return { seconds, fresh };
}

process.on('message', (order: BacklogOrder) => {
  sendPast(order).then(
    (done) => process.send?.(done),
    (cause: unknown) => {
      process.stderr.write(`${String(cause)}\n`);
      process.exit(1);
    },
  );
});
