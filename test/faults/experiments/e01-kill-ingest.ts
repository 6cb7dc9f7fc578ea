import { setTimeout as sleep } from 'node:timers/promises';
import { DAY_MS } from '@duskline/domain';
import { receiveSteps } from '@duskline/intake';
import { waitFor } from '@duskline/test-harness';
import { judge, type Experiment } from '../experiment.ts';
import type { PretendNode } from '../generator/pretend-node.ts';
import { twelveMetrics } from '../generator/truth.ts';
import { intact, MEASURED_EVERY_MS, openStand, PAST_MS, settle, steadyStream } from '../stand.ts';
import { percentile, seconds } from './figures.ts';

const NODES = 8;
/** 8 nodes every 48 ms with 12 readings each: 2,000 readings a second. */
const EVERY_MS = 48;
const RESTART_P95_MS = 5000;

/** Kills the server at random moments and at chosen points of its work, under live load and a draining backlog. */
export const killIngest: Experiment = {
  id: 'E1',
  name: 'kill-ingest',
  place: 'calm',
  brokers: ['embedded', 'mosquitto'],
  async run(lab, broker) {
    const kills = lab.full ? 50 : 5;
    const longestMs = lab.full ? 10_000 : 2500;
    const stand = await openStand(lab, { broker, nodes: NODES });
    const { server } = stand;
    await server.start();
    const startMs = Math.floor(Date.now() / 1000) * 1000 - PAST_MS;
    const nodes = stand.startNodes(
      () => [
        steadyStream(startMs, { perMessage: 1, everyMs: EVERY_MS }),
        {
          boot: 2,
          lane: 'backlog',
          // Ten minutes of its past come each half second: sixty days last longer than fifty kills do.
          startMs: startMs - 60 * DAY_MS,
          stepMs: MEASURED_EVERY_MS,
          perMessage: 20,
          ready: lab.full ? 4000 : 300,
          everyMs: 500,
          window: 8,
        },
      ],
      { metrics: twelveMetrics },
    );
    await waitFor('readings to flow', () => nodes.every(isHeard), { withinMs: 60_000 });
    const restartMs: number[] = [];
    let atPoints = 0;
    for (let kill = 0; kill < kills; kill++) {
      const point =
        kill % 2 === 1 ? receiveSteps[((kill - 1) / 2) % receiveSteps.length] : undefined;
      if (point === undefined) await sleep(lab.chance() * longestMs);
      else {
        // Armed from its start: it runs as it always does and dies at the point when the count is up.
        await server.kill9();
        server.launch({ DUSKLINE_CRASH_AT: `${point}:${5 + Math.floor(lab.chance() * 40)}` });
        const died = await waitFor('the crash point', () => !server.running(), {
          withinMs: 60_000,
        }).catch(() => false);
        if (died) atPoints += 1;
        else lab.say(`E1: the point ${point} was not reached within a minute`);
      }
      await server.kill9();
      // The embedded broker acknowledges what is committed; Mosquitto what it has taken, so there the server's own word counts.
      const heard = broker === 'embedded' ? byPuback : byWord;
      restartMs.push(await restartToFirstCommit(stand.server, nodes, heard));
    }
    await sleep(500);
    const settled = await settle(nodes, lab.full ? 300_000 : 240_000);
    const verdict = await stand.check(nodes);
    const p95 = percentile(restartMs, 0.95);
    const points = Math.floor(kills / 2);
    return judge({ kills, atPoints, ...verdict, restartP95S: seconds(p95) }, [
      ...intact(verdict, settled),
      {
        what: `first commit again after ${seconds(p95)} s (p95)`,
        isPace: true,
        reached: p95 <= RESTART_P95_MS,
      },
      {
        what: `${atPoints} of ${points} crash points reached`,
        isPace: true,
        reached: atPoints === points,
      },
    ]);
  },
};

const byPuback = (node: PretendNode) => node.pubackAtMs();
const byWord = (node: PretendNode) => node.heardAtMs();
const isHeard = (node: PretendNode) => node.streams.some((one) => one.acknowledgedCount() > 0);

async function restartToFirstCommit(
  server: { readonly launch: () => void },
  nodes: readonly PretendNode[],
  heard: (node: PretendNode) => number,
): Promise<number> {
  const fromMs = Date.now();
  server.launch();
  await waitFor('a first commit', () => nodes.some((node) => heard(node) > fromMs), {
    withinMs: 180_000,
    everyMs: 10,
  });
  return Date.now() - fromMs;
}
