import { execFileSync } from 'node:child_process';
import { setTimeout as sleep } from 'node:timers/promises';
import { DAY_MS } from '@duskline/domain';
import { judge, skipped, type Experiment } from '../experiment.ts';
import { twelveMetrics } from '../generator/truth.ts';
import { intact, openStand, settle } from '../stand.ts';

const RSS_MB = 512;
const FILES = 256;

/**
 * Few files and little memory. The heap is held by the runtime and the resident size is measured, because control groups cannot
 * be written everywhere where this runs.
 */
export const resourceCap: Experiment = {
  id: 'E23',
  name: 'resource-cap',
  brokers: ['embedded', 'mosquitto'],
  shortBroker: 'mosquitto',
  async run(lab, broker) {
    try {
      execFileSync('prlimit', ['--version'], { stdio: 'ignore' });
    } catch {
      return skipped('prlimit (util-linux) is not installed');
    }
    const stand = await openStand(lab, {
      broker,
      nodes: 20,
      env: { NODE_OPTIONS: '--max-old-space-size=320' },
    });
    await stand.server.start();
    // Once it runs: the runtime opens all modules of a program side by side, and needs some 500 for a moment.
    execFileSync('prlimit', ['--pid', String(stand.server.pid()), `--nofile=${FILES}:${FILES}`]);
    const startMs = Math.floor(Date.now() / 1000) * 1000 - 10 * DAY_MS;
    // Ten times twenty nodes that report every 30 s, and a backlog of a day each.
    const nodes = stand.startNodes(
      () => [
        { boot: 1, lane: 'live', startMs, stepMs: 1000, perMessage: 1, ready: 0, everyMs: 3000 },
        {
          boot: 2,
          lane: 'backlog',
          startMs: startMs - 2 * DAY_MS,
          stepMs: 30_000,
          perMessage: 60,
          ready: 48,
          window: 8,
        },
      ],
      { metrics: twelveMetrics },
    );
    let rssMb = 0;
    for (let i = 0; i < (lab.full ? 300 : 40); i++) {
      await sleep(500);
      if (stand.server.running()) rssMb = Math.max(rssMb, stand.server.rssMb());
    }
    const exits = stand.server.exits();
    const settled = await settle(nodes, 120_000);
    const verdict = await stand.check(nodes);
    return judge({ ...verdict, rssMb, exits }, [
      ...intact(verdict, settled),
      { what: `the server held ${rssMb} MB`, reached: rssMb <= RSS_MB },
      { what: `the server ended ${exits} times`, reached: exits === 0 },
    ]);
  },
};
