import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { waitFor } from '@duskline/test-harness';
import { judge, skipped, type Experiment } from '../experiment.ts';
import { twelveMetrics } from '../generator/truth.ts';
import { makeLoopVolume, whyNoLoopVolume } from '../nemesis/loop-volume.ts';
import { restartablePostgres, takesConnections } from '../nemesis/restartable-postgres.ts';
import { intact, openStand, PAST_MS, settle, steadyStream } from '../stand.ts';
import { seconds } from './figures.ts';

const RESUME_WITHIN_MS = 30_000;

/** The database's disk filled to the last block under load, and freed again. */
export const diskFull: Experiment = {
  id: 'E4',
  name: 'disk-full',
  async run(lab) {
    const why = whyNoLoopVolume();
    if (why !== undefined) return skipped(why);
    const volume = makeLoopVolume(lab, 512);
    const database = await restartablePostgres(lab, join(volume.mountedAt, 'postgres'));
    const stand = await openStand(lab, { broker: 'embedded', nodes: 3, databaseUrl: database.url });
    await stand.server.start();
    const startMs = Math.floor(Date.now() / 1000) * 1000 - PAST_MS;
    const nodes = stand.startNodes(() => [steadyStream(startMs, { perMessage: 20, everyMs: 40 })], {
      metrics: twelveMetrics,
    });
    const count = () =>
      nodes.reduce((sum, { streams }) => sum + (streams[0]?.acknowledgedCount() ?? 0), 0);
    await waitFor('readings to flow', () => count() > 50, { withinMs: 60_000 });
    volume.fill();
    // Room that Postgres already holds is used up first.
    let stuckFor = 0;
    for (let before = count(), i = 0; i < (lab.full ? 240 : 40) && stuckFor < 6; i++) {
      await sleep(1000);
      stuckFor = count() === before ? stuckFor + 1 : 0;
      before = count();
    }
    const stuck = stuckFor >= 6;
    volume.free();
    const fromMs = Date.now();
    // A Postgres that panicked for want of WAL is brought back as whoever looks after it would.
    if (!(await takesConnections(database.url))) await database.restart();
    const at = count();
    await waitFor('ingest to go on', () => count() > at, { withinMs: 120_000 });
    const resumeMs = Date.now() - fromMs;
    const exits = stand.server.exits();
    const settled = await settle(nodes, 120_000);
    const verdict = await stand.check(nodes);
    return judge({ ...verdict, stuck: String(stuck), resumeS: seconds(resumeMs), exits }, [
      ...intact(verdict, settled),
      { what: 'the disk never became full: nothing was shown', reached: stuck },
      {
        what: `ingest went on after ${seconds(resumeMs)} s`,
        isPace: true,
        reached: resumeMs <= RESUME_WITHIN_MS,
      },
      { what: `the server ended ${exits} times`, reached: exits === 0 },
    ]);
  },
};
