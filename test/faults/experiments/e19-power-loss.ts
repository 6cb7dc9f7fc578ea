import { execFileSync } from 'node:child_process';
import { readdirSync, readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { startEmbeddedPostgres } from '@duskline/store';
import { compareWithTruth } from '../checker/compare-with-truth.ts';
import { judge, skipped, type Experiment } from '../experiment.ts';
import { makeLoopVolume, mountLoop, whyNoLoopVolume } from '../nemesis/loop-volume.ts';
import { restartablePostgres } from '../nemesis/restartable-postgres.ts';
import { openStand, PAST_MS, steadyStream } from '../stand.ts';

/**
 * The disk as it is at random instants: all that the kernel had not yet written is gone. Whoever writes is frozen while the
 * image is copied, and what nodes were told up to then has to be in the copy.
 */
export const powerLoss: Experiment = {
  id: 'E19',
  name: 'power-loss',
  async run(lab) {
    const why = whyNoLoopVolume();
    if (why !== undefined) return skipped(why);
    const cuts = lab.full ? 20 : 3;
    const volume = makeLoopVolume(lab, 512);
    const database = await restartablePostgres(lab, join(volume.mountedAt, 'postgres'));
    const stand = await openStand(lab, { broker: 'embedded', nodes: 3, databaseUrl: database.url });
    await stand.server.start();
    const startMs = Math.floor(Date.now() / 1000) * 1000 - PAST_MS;
    const nodes = stand.startNodes(() => [steadyStream(startMs, { perMessage: 5, everyMs: 40 })]);
    let [lost, doubled, phantom, ahead, acknowledged] = [0, 0, 0, 0, 0];
    for (let cut = 0; cut < cuts; cut++) {
      await sleep(1000 + lab.chance() * 3000);
      const family = familyOf(database.pid());
      for (const pid of family) process.kill(pid, 'SIGSTOP');
      const told = nodes.map(({ streams }) => streams[0]?.acknowledgedCount() ?? 0);
      const published = nodes.map(({ streams }) => streams[0]?.published() ?? 0);
      const copy = join(lab.folder, `cut-${cut}.img`);
      execFileSync('cp', ['--sparse=always', volume.image, copy]);
      for (const pid of family) process.kill(pid, 'SIGCONT');
      const at = mountLoop(lab, copy, `cut-${cut}`);
      // Whoever had the folder is gone with the power; here it goes on beside its own copy.
      rmSync(join(at, 'postgres', 'owner'), { force: true });
      const survivor = await startEmbeddedPostgres({ dataDir: join(at, 'postgres') });
      const sql = lab.openSql(survivor.url);
      const verdict = await compareWithTruth(
        sql,
        lab.seed,
        nodes.map(({ index, metrics, streams }, i) => ({
          id: stand.nodes[index]?.id ?? 0,
          index,
          metrics,
          streams: streams.map(({ plan }) => ({
            plan,
            published: () => (published[i] ?? 0) + 200,
            isAcknowledged: (seq: number) => seq <= (told[i] ?? 0),
          })),
        })),
      );
      await sql.end({ timeout: 1 });
      await survivor.stop();
      lost += verdict.lost;
      doubled += verdict.doubled;
      phantom += verdict.phantom;
      ahead += verdict.ahead;
      acknowledged += verdict.acknowledged;
    }
    return judge({ cuts, acknowledged, lost, doubled, phantom, ahead }, [
      { what: `${lost} lost`, reached: lost === 0 },
      { what: `${doubled} doubled, ${phantom} phantom`, reached: doubled + phantom === 0 },
      { what: `watermark ahead by ${ahead}`, reached: ahead === 0 },
      { what: 'hardly anything was acknowledged', reached: acknowledged >= 500 },
    ]);
  },
};

/** A process and all its children: the postmaster and its backends. */
function familyOf(pid: number): readonly number[] {
  const parentOf = new Map<number, number>();
  for (const name of readdirSync('/proc').filter((entry) => /^\d+$/.test(entry)))
    try {
      const stat = readFileSync(`/proc/${name}/stat`, 'utf8');
      parentOf.set(Number(name), Number(stat.slice(stat.lastIndexOf(')') + 2).split(' ')[1]));
    } catch {
      continue;
    }
  const children = [...parentOf].filter(([, parent]) => parent === pid).map(([child]) => child);
  return [pid, ...children.flatMap(familyOf)];
}
