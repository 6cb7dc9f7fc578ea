import { setTimeout as sleep } from 'node:timers/promises';
import { DAY_MS } from '@duskline/domain';
import { judge, type Experiment } from '../experiment.ts';
import { twelveMetrics } from '../generator/truth.ts';
import { intact, openStand, settle } from '../stand.ts';
import { compareRollups } from '../checker/compare-rollups.ts';
import { percentile, seconds } from './figures.ts';

const NODES = 20;
const PER_MESSAGE = 60;
const STEP_MS = 30_000;
const DRAIN_WITHIN_MS = 10 * 60_000;
const LIVE_LAG_P99_MS = 5000;
const RSS_MB = 600;

/** Twenty nodes send weeks at once, partly out of order and twice, while all of them go on reporting every second. */
export const backlogFlood: Experiment = {
  id: 'E8',
  name: 'backlog-flood',
  place: 'alone',
  brokers: ['embedded', 'mosquitto'],
  async run(lab, broker) {
    const days = lab.full ? 30 : 3;
    const ready = (days * DAY_MS) / STEP_MS / PER_MESSAGE;
    const stand = await openStand(lab, { broker, nodes: NODES });
    await stand.server.start();
    const nowMs = Math.floor(Date.now() / 1000) * 1000;
    const beganMs = Date.now();
    const nodes = stand.startNodes(
      () => [
        {
          boot: 2,
          lane: 'live',
          startMs: nowMs - 60_000,
          stepMs: 1000,
          perMessage: 1,
          ready: 0,
          everyMs: 1000,
        },
        {
          boot: 1,
          lane: 'backlog',
          startMs: nowMs - DAY_MS - days * DAY_MS,
          stepMs: STEP_MS,
          perMessage: PER_MESSAGE,
          ready,
          // As many as the field program (apps/node) has under way.
          window: 16,
          disorder: { shuffled: 0.3, repeated: 0.05 },
        },
      ],
      { metrics: twelveMetrics },
    );
    let rssMb = 0;
    const limitMs = beganMs + (lab.full ? 2 * DRAIN_WITHIN_MS : DRAIN_WITHIN_MS / 4);
    const drained = () => nodes.every(({ streams }) => streams[1]?.settled() ?? false);
    while (!drained() && Date.now() < limitMs) {
      rssMb = Math.max(rssMb, stand.server.rssMb());
      await sleep(200);
    }
    const drainMs = Date.now() - beganMs;
    const settled = await settle(nodes);
    const lags = nodes.flatMap(({ streams }) => streams[0]?.lagsMs ?? []);
    const rollups = await compareRollups(lab.openSql(stand.databaseUrl), { withinMs: 60_000 });
    const pastAlerts = await countPastAlerts(lab.openSql(stand.databaseUrl), beganMs);
    const verdict = await stand.check(nodes);
    const readings = NODES * ready * PER_MESSAGE * twelveMetrics.length;
    const p99 = percentile(lags, 0.99);
    // A tenth of the work may take a tenth of the time.
    const allowedMs = lab.full ? DRAIN_WITHIN_MS : DRAIN_WITHIN_MS / 10;
    return judge(
      {
        readings,
        drainS: seconds(drainMs),
        readingsPerS: Math.round(readings / (drainMs / 1000)),
        liveLagP99S: seconds(p99),
        rssMb,
        ...verdict,
        rollupHours: rollups.hours,
        rollupsWrong: rollups.wrong,
        pastAlerts,
      },
      [
        ...intact(verdict, settled),
        {
          what: `drained in ${seconds(drainMs)} s of ${allowedMs / 1000}`,
          isPace: true,
          reached: drainMs <= allowedMs,
        },
        { what: `live lag p99 ${seconds(p99)} s`, isPace: true, reached: p99 <= LIVE_LAG_P99_MS },
        { what: `the server held ${rssMb} MB`, reached: rssMb <= RSS_MB },
        {
          what: `${rollups.wrong} rollups differ from a recomputation`,
          reached: rollups.wrong === 0 && rollups.hours > 0,
        },
        { what: `${pastAlerts} alerts opened as of the past`, reached: pastAlerts === 0 },
      ],
    );
  },
};

async function countPastAlerts(
  sql: ReturnType<Parameters<Experiment['run']>[0]['openSql']>,
  sinceMs: number,
) {
  const [row] = await sql<{ count: number }[]>`
    select count(*)::int as count from alert where opened_at < to_timestamp(${sinceMs - 120_000}::float8 / 1000)`;
  return row?.count ?? Number.NaN;
}
