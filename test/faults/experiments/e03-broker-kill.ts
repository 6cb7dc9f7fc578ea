import { setTimeout as sleep } from 'node:timers/promises';
import { waitFor } from '@duskline/test-harness';
import { judge, type Experiment } from '../experiment.ts';
import type { PretendNode } from '../generator/pretend-node.ts';
import type { Lab } from '../lab.ts';
import { intact, openStand, PAST_MS, settle, steadyStream, type Stand } from '../stand.ts';
import { seconds } from './figures.ts';

/** As the README says of plain clients behind Mosquitto. */
const PROMISED_WINDOW_MS = 2000;
const STILL_FOR_MS = 3000;
const SLOW_STEP_MS = 20_000;
/** An acknowledgement sent before a kill may be read after it; it is not taken for one that preceded the next kill. */
const STILL_ON_ITS_WAY_MS = 500;

/**
 * The broker killed and stopped, with nodes that wait for `down/ack` and plain ones that forget at the PUBACK. Behind
 * Mosquitto the server is away before each kill, so that messages lie in the broker, where they can be lost.
 */
export const brokerKill: Experiment = {
  id: 'E3',
  name: 'broker-kill',
  brokers: ['embedded', 'mosquitto'],
  async run(lab, broker) {
    const rounds = lab.full ? 20 : 2;
    const stand = await openStand(lab, { broker, nodes: 6 });
    await stand.server.start();
    const startMs = Math.floor(Date.now() / 1000) * 1000 - PAST_MS;
    const plan = steadyStream(startMs, { perMessage: 1, everyMs: 15 });
    const careful = stand.startNodes(() => [plan], { only: [0, 1, 2] });
    const plain = stand.startNodes(() => [{ ...plan, window: 500 }], {
      only: [3, 4, 5],
      forgetsBy: 'puback',
    });
    const killedAtMs: number[] = [];
    const awayMs: number[] = [];
    const hurtBy = async (signal: 'SIGKILL' | 'SIGTERM') => {
      const fromMs = Date.now();
      const diedAtMs = await hurt(stand, lab, signal);
      awayMs.push(Date.now() - fromMs);
      return diedAtMs;
    };
    for (let round = 0; round < rounds; round++) {
      await sleep(1000 + lab.chance() * 1500);
      killedAtMs.push(await hurtBy('SIGKILL'));
      await sleep(1000 + lab.chance() * 1500);
      await hurtBy('SIGTERM');
    }
    const settled = await settle([...careful, ...plain], 120_000);
    await untilStill(stand, lab);
    const ofCareful = await stand.check(careful);
    const ofPlain = await stand.check(plain);
    const window = await lossWindow(stand, lab, { plain, killedAtMs });
    const figures = {
      kills: rounds,
      stops: rounds,
      ...ofCareful,
      plainPublished: ofPlain.published,
      plainLost: ofPlain.lost,
      plainLossWindowS: seconds(window.longestMs),
      plainMostLostAtOnce: window.mostAtOnce,
      longestAwayS: seconds(Math.max(...awayMs)),
    };
    return judge(figures, [
      ...intact(ofCareful, settled),
      {
        what: `${ofPlain.lost} lost of nodes that trust the PUBACK`,
        reached: broker === 'mosquitto' || ofPlain.lost === 0,
      },
      {
        what: `a plain node lost what was acknowledged ${seconds(window.longestMs)} s before the kill; the README says 2 s`,
        reached: window.longestMs <= PROMISED_WINDOW_MS,
      },
      { what: 'plain nodes: doubled or phantom', reached: ofPlain.doubled + ofPlain.phantom === 0 },
    ]);
  },
};

/** Nobody tells a plain node what is stored: the queues at the broker are empty when nothing comes out of them any more. */
async function untilStill({ databaseUrl }: Stand, lab: Lab): Promise<void> {
  const sql = lab.openSql(databaseUrl);
  let [before, sinceMs] = [-1, Date.now()];
  await waitFor(
    'the queues at the broker to be empty',
    async () => {
      const [row] = await sql<{ count: number }[]>`select count(*)::float8 as count from sample`;
      const stored = row?.count ?? 0;
      if (stored !== before) [before, sinceMs] = [stored, Date.now()];
      return Date.now() - sinceMs > STILL_FOR_MS;
    },
    { withinMs: 300_000, everyMs: 250 },
  );
}

/** @returns when it died */
async function hurt(stand: Stand, lab: Lab, signal: 'SIGKILL' | 'SIGTERM'): Promise<number> {
  const { mosquitto, server } = stand;
  if (mosquitto === undefined) {
    await (signal === 'SIGKILL' ? server.kill9() : server.stop());
    const diedAtMs = Date.now();
    await server.start();
    return diedAtMs;
  }
  const timed = async (what: string, step: () => Promise<unknown>) => {
    const fromMs = Date.now();
    await step();
    const tookMs = Date.now() - fromMs;
    if (tookMs > SLOW_STEP_MS)
      lab.say(`E3: ${what} took ${seconds(tookMs)} s: ${server.output().slice(-2000)}`);
  };
  await timed('stopping the server', () => server.stop());
  await sleep(1500 + lab.chance() * 1500);
  if (signal === 'SIGKILL') await mosquitto.kill9();
  const diedAtMs = Date.now();
  await timed('restarting Mosquitto', () => mosquitto.restart());
  await timed('starting the server', () => server.start());
  return diedAtMs;
}

/** How long before a kill the oldest message was acknowledged that it lost. */
async function lossWindow(
  stand: Stand,
  lab: Lab,
  {
    plain,
    killedAtMs,
  }: { readonly plain: readonly PretendNode[]; readonly killedAtMs: readonly number[] },
) {
  const sql = lab.openSql(stand.databaseUrl);
  const lostByKill = new Map<number, number>();
  let longestMs = 0;
  for (const { index, streams } of plain)
    for (const stream of streams) {
      const rows = await sql<{ at: number }[]>`
        select extract(epoch from observed_at)::float8 * 1000 as at from sample
        where node_id = ${stand.nodes[index]?.id ?? 0}`;
      const stored = new Set(rows.map(({ at }) => Math.round(at)));
      for (const [seq, ackedAtMs] of stream.acknowledgedAtMs) {
        if (stored.has(stream.plan.startMs + (seq - 1) * stream.plan.stepMs)) continue;
        const killMs = killedAtMs.find((ms) => ms + STILL_ON_ITS_WAY_MS >= ackedAtMs) ?? ackedAtMs;
        longestMs = Math.max(longestMs, killMs - ackedAtMs);
        lostByKill.set(killMs, (lostByKill.get(killMs) ?? 0) + 1);
      }
    }
  return { longestMs, mostAtOnce: Math.max(0, ...lostByKill.values()) };
}
