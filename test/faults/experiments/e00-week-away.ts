import { spawn, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { appendFileSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { gzipSync } from 'node:zlib';
import { DAY_MS } from '@duskline/domain';
import { waitFor } from '@duskline/test-harness';
import { judge, type Experiment } from '../experiment.ts';
import type { Lab } from '../lab.ts';
import { nodeMain } from '../nemesis/built-programs.ts';
import { startFaultProxy } from '../nemesis/fault-proxy.ts';
import { ownNetwork } from '../nemesis/own-network.ts';
import { openStand, type Stand } from '../stand.ts';

const STEP_MS = 30_000;
const DAYS = 7;

/**
 * The story: the network is pulled for seven days while the node's own script writes on and its log is rotated and packed; the
 * node loses its power in mid-upload; the server is restarted. The count has to equal the node's own file, none twice.
 */
export const weekAway: Experiment = {
  id: 'E0',
  name: 'week-away',
  brokers: ['embedded', 'mosquitto'],
  shortBroker: 'mosquitto',
  async run(lab, broker) {
    const stand = await openStand(lab, { broker, nodes: 1 });
    // In a network of its own where that may be had: then the wire itself is pulled.
    const place = ownNetwork(lab);
    const host = place?.hostAddress ?? '127.0.0.1';
    const proxy = await startFaultProxy(stand.mqttPort, host);
    lab.undo(() => proxy.close());
    await stand.server.start();
    const log = scriptOf(lab, stand, `${host}:${proxy.port}`);
    const startNode = nodeProgram(lab, place?.wrap ?? []);
    const endMs = Math.floor(Date.now() / STEP_MS) * STEP_MS;
    const startMs = endMs - DAYS * DAY_MS;
    log.write(startMs - 3_600_000, startMs);
    let node = startNode();
    await waitFor('the first hour', async () => (await log.stored()) === log.lines(), {
      withinMs: 180_000,
    });

    if (place === undefined) {
      proxy.halfOpen(true);
      proxy.refuse(true);
    } else place.cut();
    for (let day = 0; day < DAYS; day++) {
      log.write(startMs + day * DAY_MS, startMs + (day + 1) * DAY_MS);
      if (day < DAYS - 1) log.rotate(day);
    }
    await sleep(3000);
    const whileAway = await log.stored();
    // The line it had is dead; it notices by its keep-alive, or, as here, when the network comes back and says so.
    place?.mend();
    proxy.halfOpen(false);
    proxy.reset();
    proxy.refuse(false);

    const before = await log.stored();
    const inMidUpload = async (share: number) =>
      waitFor(
        'the upload to be in its midst',
        async () => (await log.stored()) >= before + share * (log.lines() - before),
        { withinMs: 240_000, everyMs: 20 },
      );
    await inMidUpload(0.2);
    node.kill('SIGKILL');
    await once(node, 'exit');
    const storedAtPowerCut = await log.stored();
    node = startNode();
    await inMidUpload(0.5);
    await stand.server.kill9();
    const storedAtServerKill = await log.stored();
    await stand.server.start();
    await waitFor('everything to be stored', async () => (await log.stored()) >= log.lines(), {
      withinMs: 300_000,
      everyMs: 100,
    }).catch(() => undefined);
    node.kill('SIGTERM');
    const [code] = (await once(node, 'exit')) as [number | null];
    await sleep(500);
    const verdict = await log.compare();
    const total = log.lines();
    return judge(
      {
        network: place === undefined ? 'proxy' : 'namespace',
        days: DAYS,
        lines: total,
        ...verdict,
        storedAtPowerCut,
        storedAtServerKill,
        nodeExit: code ?? -1,
      },
      [
        { what: 'readings came through a network that was pulled', reached: whileAway < total / 2 },
        { what: 'the power was not cut in mid-upload', reached: storedAtPowerCut < total },
        { what: 'the server was not killed in mid-upload', reached: storedAtServerKill < total },
        { what: `${verdict.rows} rows for ${total} lines`, reached: verdict.rows === total },
        {
          what: `${verdict.missing} lines missing, ${verdict.different} different`,
          reached: verdict.missing + verdict.different === 0,
        },
        { what: `${verdict.twice} twice`, reached: verdict.twice === 0 },
        { what: `the node ended with ${code}`, reached: code === 0 },
      ],
    );
  },
};

function nodeProgram(lab: Lab, wrap: readonly string[]): () => ChildProcess {
  return () => {
    const config = join(lab.folder, 'node.json');
    const words = [process.execPath, nodeMain, config];
    const [program = '', ...args] = [...wrap, ...words];
    const child = spawn(program, args, { stdio: ['ignore', 'ignore', 'pipe'] });
    child.stderr?.on('data', (bytes: Buffer) => lab.say(`node: ${bytes.toString().trim()}`));
    lab.undo(() => child.kill('SIGKILL'));
    return child;
  };
}

/** The builder's script: it knows nothing of the network, and its file is the truth. */
function scriptOf(lab: Lab, stand: Stand, brokerAddress: string) {
  const path = join(lab.folder, 'readings.csv');
  const sql = lab.openSql(stand.databaseUrl);
  const { name, secret, id } = stand.nodes[0] ?? { name: '', secret: '', id: 0 };
  const written: string[] = [];
  const header = 'time,battery mV,charge %\n';
  writeFileSync(path, header);
  writeFileSync(join(lab.folder, 'secret'), secret);
  const config = {
    node: name,
    broker: `mqtt://${brokerAddress}`,
    secretFile: 'secret',
    stateDir: 'node-state',
    log: {
      path: 'readings.csv',
      header: true,
      time: { column: 'time', format: 'iso' },
      columns: [
        { column: 'battery mV', metric: 'batt_v', unit: 'mV' },
        { column: 'charge %', metric: 'charge', unit: '%EL' },
      ],
    },
  };
  writeFileSync(join(lab.folder, 'node.json'), JSON.stringify(config));
  return {
    lines: () => written.length,
    /** Lines from one time up to and without another. */
    write(fromMs: number, toMs: number) {
      const lines: string[] = [];
      for (let atMs = fromMs; atMs < toMs; atMs += STEP_MS)
        lines.push(
          `${new Date(atMs).toISOString()},${12_000 + Math.floor(lab.chance() * 2000)},${Math.floor(lab.chance() * 1000) / 10}`,
        );
      written.push(...lines);
      appendFileSync(path, `${lines.join('\n')}\n`);
    },
    /** Puts the log away, and packs the one before. */
    rotate(day: number) {
      renameSync(path, `${path}.${day}`);
      writeFileSync(path, header);
      if (day === 0) return;
      const older = `${path}.${day - 1}`;
      writeFileSync(`${older}.gz`, gzipSync(readFileSync(older)));
      rmSync(older);
    },
    async stored(): Promise<number> {
      const [row] = await sql<
        { count: number }[]
      >`select count(*)::float8 as count from sample where node_id = ${id}`;
      return row?.count ?? 0;
    },
    async compare() {
      // Behind the last line there is only the charge that the farewell tells.
      const lastMs = Date.parse(written.at(-1)?.split(',')[0] ?? '');
      const rows = await sql<{ at: number; vals: number[] }[]>`
        select extract(epoch from observed_at)::float8 * 1000 as at, "values" as vals from sample where node_id = ${id}
          and observed_at <= to_timestamp(${lastMs}::float8 / 1000)`;
      const found = new Map<number, number[][]>();
      for (const { at, vals } of rows)
        found.set(Math.round(at), [...(found.get(Math.round(at)) ?? []), vals]);
      let [missing, different, twice] = [0, 0, 0];
      for (const line of written) {
        const [time = '', millivolts, charge] = line.split(',');
        const at = found.get(Date.parse(time)) ?? [];
        if (at.length === 0) missing += 1;
        if (at.length > 1) twice += 1;
        const [volts = NaN, percent = NaN] = at[0] ?? [];
        if (
          at.length > 0 &&
          (Math.abs(volts * 1000 - Number(millivolts)) > 1e-6 || percent !== Number(charge))
        )
          different += 1;
      }
      return { rows: rows.length, missing, different, twice };
    },
  };
}
