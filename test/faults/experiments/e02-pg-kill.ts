import { setTimeout as sleep } from 'node:timers/promises';
import { waitFor } from '@duskline/test-harness';
import { judge, type Experiment } from '../experiment.ts';
import type { PretendNode } from '../generator/pretend-node.ts';
import { restartablePostgres, stormOfKilledBackends } from '../nemesis/restartable-postgres.ts';
import { watchReads } from '../nemesis/watch-reads.ts';
import { intact, openStand, PAST_MS, settle, steadyStream } from '../stand.ts';
import { seconds } from './figures.ts';

const LONGEST_READ_MS = 5000;
const RESUME_WITHIN_MS = 10_000;

/** The database killed, restarted, and its backends ended by the dozen, under load. Messages of five samples: half a one would show. */
export const pgKill: Experiment = {
  id: 'E2',
  name: 'pg-kill',
  brokers: ['embedded', 'mosquitto'],
  async run(lab, broker) {
    const rounds = lab.full ? 20 : 2;
    const stormMs = lab.full ? 60_000 : 10_000;
    const database = await restartablePostgres(lab);
    const stand = await openStand(lab, { broker, nodes: 4, databaseUrl: database.url });
    await stand.server.start();
    const startMs = Math.floor(Date.now() / 1000) * 1000 - PAST_MS;
    const nodes = stand.startNodes(() => [steadyStream(startMs, { perMessage: 5, everyMs: 40 })]);
    await waitFor('readings to flow', () => nodes.every(isHeard), { withinMs: 30_000 });
    const reads = watchReads(stand.server.httpUrl, stand.token);
    const resumeMs: number[] = [];
    for (let round = 0; round < rounds; round++) {
      await sleep(500 + lab.chance() * 1500);
      await database.kill9();
      resumeMs.push(await untilHeard(nodes));
      await sleep(500 + lab.chance() * 1500);
      await database.restart();
      resumeMs.push(await untilHeard(nodes));
    }
    const backends = await stormOfKilledBackends(database.url, { everyMs: 200, forMs: stormMs });
    resumeMs.push(await untilHeard(nodes));
    const seen = await reads.stop();
    const exits = stand.server.exits();
    const settled = await settle(nodes, 120_000);
    const verdict = await stand.check(nodes);
    const slowestResume = Math.max(...resumeMs);
    return judge(
      {
        kills: rounds,
        restarts: rounds,
        backends,
        ...verdict,
        exits,
        resumeMaxS: seconds(slowestResume),
        reads: seen.reads,
        refused: seen.refused,
        slowestReadS: seconds(seen.slowestMs),
      },
      [
        ...intact(verdict, settled),
        { what: `the server ended ${exits} times`, reached: exits === 0 },
        {
          what: `ingest took ${seconds(slowestResume)} s to go on`,
          isPace: true,
          reached: slowestResume <= RESUME_WITHIN_MS,
        },
        {
          what: `${seen.wrong.length} reads were neither answered nor 503 with Retry-After: ${[...new Set(seen.wrong)].join(', ')}`,
          reached: seen.wrong.length === 0,
        },
        {
          what: `a read took ${seconds(seen.slowestMs)} s`,
          isPace: true,
          reached: seen.slowestMs <= LONGEST_READ_MS,
        },
      ],
    );
  },
};

const isHeard = (node: PretendNode) => node.streams.some((one) => one.acknowledgedCount() > 0);

async function untilHeard(nodes: readonly PretendNode[]): Promise<number> {
  const fromMs = Date.now();
  await waitFor('ingest to go on', () => nodes.some((node) => node.heardAtMs() > fromMs), {
    withinMs: 60_000,
  });
  return Date.now() - fromMs;
}
