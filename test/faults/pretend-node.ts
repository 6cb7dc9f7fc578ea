import type { MessagePlace, MetricKey, NodeName } from '@duskline/domain';
import { decodeAck, encodeMessage, topicFor } from '@duskline/wire';
import mqtt from 'mqtt';

export const metrics: readonly MetricKey[] = ['batt_v', 'charge', 'load_w', 'panel_w'];

/** The truth: what a node reads is a function of which node, which metric and when, so it need not be kept. */
export function truth(node: number, metric: number, index: number): number {
  return Math.round(1e6 * (20 + 10 * Math.sin(node * 7.3 + metric * 2.1 + index * 0.37))) / 1e6;
}

export const observedAtMs = (startMs: number, index: number): number => startMs + index * 1000;

export interface PretendNode {
  /** Numbers of the messages that the server said are committed. */
  readonly acknowledgedUpTo: () => number;
  readonly publishedUpTo: () => number;
  /** Resolves when everything published is acknowledged. */
  readonly settled: () => boolean;
  readonly stopPublishing: () => void;
  readonly close: () => Promise<void>;
}

const RESEND_MS = 3000;
/** Messages on their way at once. */
const WINDOW = 50;

/** A node that publishes without pause, keeps what is not acknowledged by `down/ack`, and sends it again after every break. */
export function startPretendNode(options: {
  readonly url: string;
  readonly node: NodeName;
  readonly index: number;
  readonly secret: string;
  readonly startMs: number;
  readonly everyMs: number;
}): PretendNode {
  const { node } = options;
  let published = 0;
  let acknowledged = 0;
  let listening = false;
  let heardAtMs = Date.now();
  const client = mqtt.connect(options.url, {
    clientId: node,
    username: node,
    password: options.secret,
    protocolVersion: 4,
    clean: true,
    reconnectPeriod: 300,
    queueQoSZero: false,
  });
  const send = (seq: number) => {
    const place: MessagePlace = { boot: 1, seq };
    const payload = encodeMessage({
      node,
      place,
      samples: [
        {
          observedAtMs: observedAtMs(options.startMs, seq),
          metrics,
          values: metrics.map((_, metric) => truth(options.index, metric, seq)),
        },
      ],
    });
    client.publish(topicFor(node, 'live'), Buffer.from(payload), { qos: 1 });
  };
  let sentUpTo = 0;
  const sendMore = () => {
    while (listening && sentUpTo < Math.min(published, acknowledged + WINDOW)) send(++sentUpTo);
  };
  const sendAgain = () => {
    heardAtMs = Date.now();
    sentUpTo = acknowledged;
    sendMore();
  };
  client.on('connect', () => {
    client.subscribe(topicFor(node, 'ack'), { qos: 1 }, (fault) => {
      if (fault) return;
      listening = true;
      sendAgain();
    });
  });
  client.on('close', () => {
    listening = false;
  });
  client.on('error', () => undefined);
  client.on('message', (_topic, bytes) => {
    const ack = decodeAck(bytes);
    if (!ack.ok || ack.value.boot !== 1) return;
    heardAtMs = Date.now();
    acknowledged = Math.max(acknowledged, ack.value.seq);
    sentUpTo = Math.max(sentUpTo, acknowledged);
    sendMore();
  });
  const publishing = setInterval(() => {
    published += 1;
    sendMore();
  }, options.everyMs);
  const resending = setInterval(() => {
    if (acknowledged < published && Date.now() - heardAtMs > RESEND_MS) sendAgain();
  }, 500);

  return {
    acknowledgedUpTo: () => acknowledged,
    publishedUpTo: () => published,
    settled: () => acknowledged >= published,
    stopPublishing: () => clearInterval(publishing),
    async close() {
      clearInterval(publishing);
      clearInterval(resending);
      await client.endAsync(true);
    },
  };
}
