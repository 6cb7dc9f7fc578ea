import { parseNodeName, type NodeName } from '@duskline/domain';
import { encodeMessage, topicFor } from '@duskline/wire';
import mqtt from 'mqtt';
import { loadMetrics, loadValues } from './load-shape.ts';

/** What the bench tells this process to do. */
export interface LoadOrder {
  readonly url: string;
  readonly nodes: readonly { readonly name: string; readonly secret: string }[];
  readonly lane: 'live' | 'backlog';
  readonly samplesPerMessage: number;
  readonly messagesPerNode: number;
  /** Messages of one node on their way at once. */
  readonly inFlight: number;
  readonly startMs: number;
  readonly boot: number;
}

async function publishAll(order: LoadOrder): Promise<void> {
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
      const topic = topicFor(node, order.lane);
      let next = 0;
      const send = async (): Promise<void> => {
        while (next < order.messagesPerNode) {
          const message = next++;
          const samples = Array.from({ length: order.samplesPerMessage }, (_, i) => {
            const at = message * order.samplesPerMessage + i;
            return {
              observedAtMs: order.startMs + at * 1000,
              metrics: loadMetrics,
              values: loadValues(index, order.startMs + at * 1000),
            };
          });
          const place = { boot: order.boot, seq: message + 1 };
          await client.publishAsync(topic, Buffer.from(encodeMessage({ node, place, samples })), {
            qos: 1,
          });
        }
      };
      await Promise.all(Array.from({ length: order.inFlight }, send));
      await client.endAsync();
    }),
  );
}

process.on('message', (order: LoadOrder) => {
  publishAll(order).then(
    () => process.send?.('done'),
    (cause: unknown) => {
      process.stderr.write(`${String(cause)}\n`);
      process.exit(1);
    },
  );
});
