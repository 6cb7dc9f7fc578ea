import { parseNodeName, type NodeName } from '@duskline/domain';
import { encodeMessage, topicFor } from '@duskline/wire';
import mqtt from 'mqtt';
import { loadMetrics, loadValues } from './load-shape.ts';

/** What the bench tells this process to do. */
export interface BacklogOrder {
  readonly url: string;
  readonly nodes: readonly { readonly name: string; readonly secret: string }[];
  readonly samplesPerNode: number;
  readonly samplesPerMessage: number;
  readonly everyMs: number;
  readonly startMs: number;
  /** Packs of one node on their way at once. */
  readonly inFlight: number;
  readonly liveEveryMs: number;
}

export interface BacklogDone {
  readonly seconds: number;
  /** From publish to PUBACK, which comes after the commit: one for each live message. */
  readonly liveLagsMs: readonly number[];
}

/** Every node sends its past as fast as it is taken, and a fresh reading now and then by the same connection. */
async function sendPast(order: BacklogOrder): Promise<BacklogDone> {
  const liveLagsMs: number[] = [];
  const startedMs = performance.now();
  await Promise.all(
    order.nodes.map(async ({ name, secret }, index) => {
      const node = parseNodeName(name) as NodeName;
      const client = await mqtt.connectAsync(order.url, {
        clientId: name,
        username: name,
        password: secret,
        protocolVersion: 4,
        clean: true,
      });
      const publish = (kind: 'live' | 'backlog', bytes: Uint8Array) =>
        client.publishAsync(topicFor(node, kind), Buffer.from(bytes), { qos: 1 });
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
          await publish('backlog', encodeMessage({ node, place, samples }, 'cbor'));
        }
      };
      let liveSeq = 0;
      const speak = async (): Promise<void> => {
        liveSeq += 1;
        const atMs = Date.now();
        const samples = [
          { observedAtMs: atMs, metrics: loadMetrics, values: loadValues(index, atMs) },
        ];
        const sentMs = performance.now();
        await publish('live', encodeMessage({ node, place: { boot: 2, seq: liveSeq }, samples }));
        liveLagsMs.push(performance.now() - sentMs);
      };
      const spoken: Promise<void>[] = [];
      const timer = setInterval(() => spoken.push(speak()), order.liveEveryMs);
      await Promise.all(Array.from({ length: order.inFlight }, send));
      clearInterval(timer);
      await Promise.all(spoken);
      await client.endAsync();
    }),
  );
  return { seconds: (performance.now() - startedMs) / 1000, liveLagsMs };
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
