import { setTimeout as sleep } from 'node:timers/promises';
import { waitFor } from '@duskline/test-harness';
import { judge, type Experiment } from '../experiment.ts';
import type { PretendNode } from '../generator/pretend-node.ts';
import { startFaultProxy } from '../nemesis/fault-proxy.ts';
import { intact, openStand, PAST_MS, settle, steadyStream } from '../stand.ts';
import { seconds } from './figures.ts';

const KEEPALIVE_S = 4;
const RECONNECT_WITHIN_MS = 30_000;
/** 64 kbit/s. */
const SLOW_BYTES_PER_S = 8000;

/** The line between nodes and broker: refused, half open without a word, stalling, slow. */
export const netCut: Experiment = {
  id: 'E5',
  name: 'net-cut',
  place: 'waits',
  brokers: ['embedded', 'mosquitto'],
  shortBroker: 'mosquitto',
  async run(lab, broker) {
    const cutsMs = lab.full ? [10_000, 300_000, 3_600_000] : [3000, 10_000];
    const stand = await openStand(lab, { broker, nodes: 3 });
    const proxy = await startFaultProxy(stand.mqttPort);
    lab.undo(() => proxy.close());
    await stand.server.start();
    const startMs = Math.floor(Date.now() / 1000) * 1000 - PAST_MS;
    const nodes = stand.startNodes(() => [steadyStream(startMs, { perMessage: 1, everyMs: 30 })], {
      url: `mqtt://127.0.0.1:${proxy.port}`,
      keepaliveS: KEEPALIVE_S,
    });
    await waitFor('readings to flow', () => nodes.every(isHeard), { withinMs: 60_000 });
    let reconnectMs = 0;
    for (const cutMs of cutsMs) {
      proxy.refuse(true);
      proxy.reset();
      await sleep(cutMs);
      proxy.refuse(false);
      reconnectMs = Math.max(reconnectMs, await untilHeard(nodes));
    }
    const fromMs = Date.now();
    proxy.halfOpen(true);
    const noticed = await waitFor(
      'the dead line to be noticed',
      () => nodes.every((node) => !node.connected()),
      { withinMs: 60_000 },
    ).catch(() => false);
    const noticeMs = Date.now() - fromMs;
    proxy.halfOpen(false);
    proxy.reset();
    reconnectMs = Math.max(reconnectMs, await untilHeard(nodes));
    proxy.delay(300, 0.2);
    await sleep(lab.full ? 60_000 : 5000);
    proxy.delay(0);
    const caughtUp = await settle(nodes, 120_000);
    // A line of 64 kbit/s, and a known number of messages that have to go over it.
    proxy.limit(SLOW_BYTES_PER_S);
    const backlog = await slowBacklog(nodes, lab.full ? 2880 : 288);
    proxy.limit(undefined);
    const settled = await settle(nodes, 120_000);
    const verdict = await stand.check(nodes);
    return judge(
      {
        cuts: cutsMs.length,
        ...verdict,
        noticeS: seconds(noticeMs),
        reconnectS: seconds(reconnectMs),
        backlogMessages: backlog.messages,
        backlogS: seconds(backlog.tookMs),
      },
      [
        ...intact(verdict, caughtUp && settled),
        // One and a half keep-alives for the broker; a client that pings once more may take two.
        {
          what: `a dead line was noticed after ${seconds(noticeMs)} s`,
          isPace: true,
          reached: noticed && noticeMs <= 2.5 * KEEPALIVE_S * 1000,
        },
        {
          what: `readings again ${seconds(reconnectMs)} s after the line was back`,
          isPace: true,
          reached: reconnectMs <= RECONNECT_WITHIN_MS,
        },
        {
          what: `${backlog.messages} messages took ${seconds(backlog.tookMs)} s at 64 kbit/s`,
          isPace: true,
          reached: backlog.tookMs <= (lab.full ? 20 : 2) * 60_000,
        },
      ],
    );
  },
};

const isHeard = (node: PretendNode) => node.streams.some((one) => one.acknowledgedCount() > 0);

async function untilHeard(nodes: readonly PretendNode[]): Promise<number> {
  const fromMs = Date.now();
  await waitFor(
    'all nodes to be heard again',
    () => nodes.every((node) => node.heardAtMs() > fromMs),
    { withinMs: 90_000 },
  );
  return Date.now() - fromMs;
}

/** A tenth or the whole of one node's day at 30 s: as many messages more, over the slow line. */
async function slowBacklog(nodes: readonly PretendNode[], messages: number) {
  const fromMs = Date.now();
  nodes[0]?.streams[0]?.add(messages);
  await waitFor('the backlog to be through', () => nodes.every((node) => node.settled()), {
    withinMs: 30 * 60_000,
    everyMs: 100,
  });
  return { messages, tookMs: Date.now() - fromMs };
}
