import type { MetricKey, NodeName } from '@duskline/domain';
import { decodeAck, encodeMessage, topicFor } from '@duskline/wire';
import mqtt from 'mqtt';
import { createStream, type MessageStream } from './message-stream.ts';
import { seededChance } from './seeded-chance.ts';
import { fewMetrics, timesIn, truth, type StreamPlan } from './truth.ts';

/** By which word a node forgets a message: the server's `down/ack`, or only the broker's PUBACK. */
export type ForgetsBy = 'app-ack' | 'puback';

export interface PretendNodeOptions {
  readonly url: string;
  readonly node: NodeName;
  readonly index: number;
  readonly secret: string;
  readonly seed: number;
  readonly streams: readonly StreamPlan[];
  readonly forgetsBy?: ForgetsBy;
  readonly metrics?: readonly MetricKey[];
  readonly keepaliveS?: number;
}

export interface PretendNode {
  readonly node: NodeName;
  readonly index: number;
  readonly metrics: readonly MetricKey[];
  readonly streams: readonly MessageStream[];
  /** Everything published is acknowledged. */
  readonly settled: () => boolean;
  readonly connected: () => boolean;
  /** When the line last came up and went down, by Date.now(); NaN before. */
  readonly lineTimes: () => { readonly upAtMs: number; readonly downAtMs: number };
  /** When the newest acknowledgement came. */
  readonly heardAtMs: () => number;
  /** When the newest PUBACK came: the client lets nothing else through before all it had under way is sent again. */
  readonly pubackAtMs: () => number;
  readonly stopPublishing: () => void;
  readonly close: () => Promise<void>;
}

/** A node that keeps each message until it was told that it may forget it, and sends it again after every break. */
export function startPretendNode(options: PretendNodeOptions): PretendNode {
  const { node, index, seed, metrics = fewMetrics, forgetsBy = 'app-ack' } = options;
  const plain = forgetsBy === 'puback';
  const chance = seededChance(seed + index * 7919);
  let [heardAtMs, pubackAtMs] = [Date.now(), Number.NaN];
  let [upAtMs, downAtMs] = [Number.NaN, Number.NaN];
  let open = false;
  const client = mqtt.connect(options.url, {
    clientId: node,
    username: node,
    password: options.secret,
    protocolVersion: 4,
    clean: true,
    reconnectPeriod: 150 + index * 10,
    connectTimeout: 4000,
    keepalive: options.keepaliveS ?? 60,
    queueQoSZero: false,
  });
  const streams = options.streams.map((plan) =>
    createStream(plan, { chance, send: (seq) => send(plan, seq) }),
  );
  const streamOf = (boot: number) => streams.find(({ plan }) => plan.boot === boot);

  function send(plan: StreamPlan, seq: number): void {
    const payload = encodeMessage({
      node,
      ...(plain ? {} : { place: { boot: plan.boot, seq } }),
      samples: timesIn(plan, seq).map((observedAtMs) => ({
        observedAtMs,
        metrics,
        values: metrics.map((_, metric) => truth({ seed, node: index }, metric, observedAtMs)),
      })),
    });
    client.publish(topicFor(node, plan.lane), Buffer.from(payload), { qos: 1 }, (fault) => {
      if (!plain || fault) return;
      heardAtMs = Date.now();
      streamOf(plan.boot)?.acknowledge(seq);
    });
  }
  client.on('connect', () => {
    upAtMs = Date.now();
    open = true;
    client.subscribe(topicFor(node, 'ack'), { qos: 1 }, (fault) => {
      if (!fault) for (const stream of streams) stream.lineIsUp();
    });
  });
  client.on('close', () => {
    if (open) downAtMs = Date.now();
    open = false;
    for (const stream of streams) stream.lineIsDown();
  });
  client.on('packetreceive', ({ cmd }) => {
    if (cmd === 'puback') pubackAtMs = Date.now();
  });
  client.on('error', () => undefined);
  client.on('message', (_topic, bytes) => {
    const ack = decodeAck(bytes);
    if (plain || !ack.ok) return;
    heardAtMs = Date.now();
    streamOf(ack.value.boot)?.acknowledgeUpTo(ack.value.seq);
  });
  const publishing = streams.flatMap((stream) =>
    stream.plan.everyMs === undefined
      ? []
      : [setInterval(() => stream.add(1), stream.plan.everyMs)],
  );
  const resending = setInterval(() => {
    for (const stream of streams) stream.look(Date.now());
  }, 500);
  const stopPublishing = () => publishing.splice(0).forEach(clearInterval);

  return {
    node,
    index,
    metrics,
    streams,
    settled: () => streams.every((stream) => stream.settled()),
    connected: () => client.connected,
    lineTimes: () => ({ upAtMs, downAtMs }),
    heardAtMs: () => heardAtMs,
    pubackAtMs: () => pubackAtMs,
    stopPublishing,
    async close() {
      stopPublishing();
      clearInterval(resending);
      await client.endAsync(true);
    },
  };
}
