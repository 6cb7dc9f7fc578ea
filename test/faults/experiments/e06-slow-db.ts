import { setTimeout as sleep } from 'node:timers/promises';
import { waitFor } from '@duskline/test-harness';
import { judge, type Experiment } from '../experiment.ts';
import { startFaultProxy } from '../nemesis/fault-proxy.ts';
import { intact, openStand, PAST_MS, settle, steadyStream } from '../stand.ts';
import { seconds } from './figures.ts';

const GROWTH_MB = 64;
const RECOVER_WITHIN_MS = 60_000;

/** The database answers late, and then a session holds a lock that the intake needs. */
export const slowDb: Experiment = {
  id: 'E6',
  name: 'slow-db',
  brokers: ['embedded', 'mosquitto'],
  shortBroker: 'embedded',
  async run(lab, broker) {
    const eachMs = lab.full ? 60_000 : 6000;
    const database = await lab.freshDatabase();
    const proxy = await startFaultProxy(Number(new URL(database).port));
    lab.undo(() => proxy.close());
    const serverDatabaseUrl = Object.assign(new URL(database), { port: String(proxy.port) }).href;
    const stand = await openStand(lab, {
      broker,
      nodes: 4,
      databaseUrl: database,
      serverDatabaseUrl,
    });
    await stand.server.start();
    const startMs = Math.floor(Date.now() / 1000) * 1000 - PAST_MS;
    const nodes = stand.startNodes(() => [steadyStream(startMs, { perMessage: 5, everyMs: 100 })]);
    await sleep(eachMs / 2);
    const rssBefore = stand.server.rssMb();
    let rssMb = rssBefore;
    let [alive, asked] = [0, 0];
    const watch = setInterval(() => {
      rssMb = Math.max(rssMb, stand.server.rssMb());
      asked += 1;
      fetch(`${stand.server.httpUrl}/healthz`, { signal: AbortSignal.timeout(5000) }).then(
        (answer) => void (alive += answer.ok ? 1 : 0),
        () => undefined,
      );
    }, 500);
    lab.undo(() => clearInterval(watch));
    for (const ms of [50, 200, 1000]) {
      proxy.delay(ms);
      await sleep(eachMs);
    }
    proxy.delay(0);
    await lab.openSql(database).begin(async (trx) => {
      await trx`lock table sample in access exclusive mode`;
      await sleep(eachMs);
    });
    const fromMs = Date.now();
    const recovered = await waitFor(
      'the live lag to be gone',
      () =>
        nodes.every(({ streams }) =>
          streams.every((one) => one.published() - one.acknowledgedCount() <= 30),
        ),
      { withinMs: 2 * RECOVER_WITHIN_MS },
    ).catch(() => false);
    const recoverMs = Date.now() - fromMs;
    clearInterval(watch);
    await sleep(5000);
    const exits = stand.server.exits();
    const settled = await settle(nodes);
    const verdict = await stand.check(nodes);
    return judge(
      {
        ...verdict,
        rssGrowthMb: rssMb - rssBefore,
        recoverS: seconds(recoverMs),
        alive: `${alive}/${asked}`,
        exits,
      },
      [
        ...intact(verdict, settled),
        { what: `memory grew by ${rssMb - rssBefore} MB`, reached: rssMb - rssBefore <= GROWTH_MB },
        {
          what: `live lag gone after ${seconds(recoverMs)} s`,
          isPace: true,
          reached: recovered && recoverMs <= RECOVER_WITHIN_MS,
        },
        { what: `liveness answered ${alive} of ${asked} times`, reached: alive === asked },
        { what: `the server ended ${exits} times`, reached: exits === 0 },
      ],
    );
  },
};
