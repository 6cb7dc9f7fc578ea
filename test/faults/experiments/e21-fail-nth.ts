import { setTimeout as sleep } from 'node:timers/promises';
import { waitFor } from '@duskline/test-harness';
import { judge, type Experiment } from '../experiment.ts';
import { startFaultProxy } from '../nemesis/fault-proxy.ts';
import { intact, openStand, PAST_MS, settle, steadyStream } from '../stand.ts';

/** After SQLite's tests: the n-th thing said to the database, and to the broker, fails, for every n. */
export const failNth: Experiment = {
  id: 'E21',
  name: 'fail-nth',
  brokers: ['embedded', 'mosquitto'],
  shortBroker: 'embedded',
  async run(lab, broker) {
    const most = lab.full ? 200 : 25;
    const database = await lab.freshDatabase();
    const between = await startFaultProxy(Number(new URL(database).port));
    lab.undo(() => between.close());
    const serverDatabaseUrl = Object.assign(new URL(database), { port: String(between.port) }).href;
    const stand = await openStand(lab, {
      broker,
      nodes: 2,
      databaseUrl: database,
      serverDatabaseUrl,
    });
    const toBroker = await startFaultProxy(stand.mqttPort);
    lab.undo(() => toBroker.close());
    await stand.server.start();
    const startMs = Math.floor(Date.now() / 1000) * 1000 - PAST_MS;
    const nodes = stand.startNodes(() => [steadyStream(startMs, { perMessage: 5, everyMs: 50 })], {
      url: `mqtt://127.0.0.1:${toBroker.port}`,
    });
    let failed = 0;
    for (let n = 1; n <= most; n++)
      for (const proxy of [between, toBroker]) {
        proxy.resetAtPiece(n);
        const came = await waitFor('the n-th piece', () => proxy.hasReset(), {
          withinMs: 20_000,
        }).catch(() => false);
        if (came) failed += 1;
        await sleep(20);
      }
    const exits = stand.server.exits();
    const settled = await settle(nodes, 120_000);
    const verdict = await stand.check(nodes);
    return judge({ n: most, failed, ...verdict, exits }, [
      ...intact(verdict, settled),
      {
        what: `only ${failed} of ${2 * most} calls could be made to fail`,
        reached: failed === 2 * most,
      },
      { what: `the server ended ${exits} times`, reached: exits === 0 },
    ]);
  },
};
