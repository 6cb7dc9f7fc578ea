import { fork, spawn, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { freePort, waitFor } from '@duskline/test-harness';
import type { BacklogDone, BacklogOrder } from './intake-backlog-load.ts';
import type { BenchNode } from './intake-rate.ts';
import { loadMetrics } from './load-shape.ts';
import { watchFresh } from './watch-fresh.ts';

export interface BacklogFigures {
  readonly readings: number;
  readonly seconds: number;
  readonly liveMessages: number;
  /** From publish until a reader of the database sees the row, of nodes that send no past. */
  readonly liveLagMs: Spread;
  /** The same of the nodes that send their past meanwhile by the very connection. */
  readonly liveLagOfSendersMs: Spread;
  /** Of the server process alone: broker, intake, forecast and pages, without Postgres. */
  readonly serverRssPeakMb: number;
}

export interface Spread {
  readonly p50: number;
  readonly p99: number;
  readonly max: number;
}

const path = (name: string) => fileURLToPath(new URL(name, import.meta.url));
const EVERY_MS = 30_000;
const LIVE_EVERY_MS = 2000;

/**
 * The past of every node through the real server, as a process of its own with all its roles, while these nodes and
 * as many others each send a fresh reading every 2 s (fifteen times as often as a node does): publishers, server and Postgres
 * on the same cores.
 */
export async function measureBacklog(
  databaseUrl: string,
  {
    pastNodes,
    freshNodes,
    days,
  }: {
    readonly pastNodes: readonly BenchNode[];
    readonly freshNodes: readonly BenchNode[];
    readonly days: number;
  },
): Promise<BacklogFigures> {
  const folder = mkdtempSync(join(tmpdir(), 'duskline-bench-server-'));
  const [httpPort, mqttPort] = [await freePort(), await freePort()];
  const server = spawn(
    process.execPath,
    ['--conditions=development', '--import', 'tsx', path('../../apps/server/src/main.ts')],
    {
      env: {
        ...process.env,
        DUSKLINE_DATABASE_URL: databaseUrl,
        DUSKLINE_DATA_DIR: folder,
        DUSKLINE_HTTP_PORT: String(httpPort),
        DUSKLINE_MQTT_PORT: String(mqttPort),
        DUSKLINE_LOG_LEVEL: 'error',
      },
      stdio: ['ignore', 'ignore', 'inherit'],
    },
  );
  try {
    await waitFor(
      'the server to be ready',
      async () => (await fetch(`http://127.0.0.1:${httpPort}/readyz`)).ok,
      { withinMs: 60_000 },
    );
    const samplesPerNode = Math.round((days * 86_400_000) / EVERY_MS);
    const idOf = new Map([...pastNodes, ...freshNodes].map(({ name, id }) => [name, id as number]));
    const seen = watchFresh(databaseUrl, [...idOf.values()], Date.now());
    const done = await order(path('./intake-backlog-load.ts'), {
      url: `mqtt://127.0.0.1:${mqttPort}`,
      pastNodes: pastNodes.map(({ name, secret }) => ({ name, secret })),
      freshNodes: freshNodes.map(({ name, secret }) => ({ name, secret })),
      samplesPerNode,
      samplesPerMessage: 60,
      everyMs: EVERY_MS,
      startMs: Math.floor(Date.now() / 1000) * 1000 - days * 86_400_000,
      inFlight: 4,
      liveEveryMs: LIVE_EVERY_MS,
    });
    await seen.stop();
    const lagsOf = (nodes: readonly BenchNode[]): Spread => {
      const names = new Set(nodes.map(({ name }) => name));
      const lags = done.fresh
        .filter(({ name }) => names.has(name))
        .map(({ name, sentMs }) => seen.lagMs(idOf.get(name) ?? 0, sentMs));
      const unseen = lags.filter((lag) => lag === undefined).length;
      if (unseen > 0) throw new Error(`${unseen} fresh readings were acknowledged and never seen.`);
      return spreadOf(lags.filter((lag) => lag !== undefined));
    };
    return {
      readings: pastNodes.length * samplesPerNode * loadMetrics.length,
      seconds: done.seconds,
      liveMessages: done.fresh.length,
      liveLagMs: lagsOf(freshNodes),
      liveLagOfSendersMs: lagsOf(pastNodes),
      serverRssPeakMb: peakRssMb(server),
    };
  } finally {
    const gone = once(server, 'exit');
    server.kill('SIGTERM');
    await gone;
    rmSync(folder, { recursive: true, force: true });
  }
}

function spreadOf(values: readonly number[]): Spread {
  const sorted = [...values].sort((a, b) => a - b);
  const at = (ratio: number) => Math.round(sorted[Math.floor(ratio * (sorted.length - 1))] ?? 0);
  return { p50: at(0.5), p99: at(0.99), max: at(1) };
}

async function order(file: string, what: BacklogOrder): Promise<BacklogDone> {
  const child = fork(file, [], { execArgv: process.execArgv });
  try {
    return await new Promise<BacklogDone>((resolve, reject) => {
      child.once('message', (done: BacklogDone) => resolve(done));
      child.once('exit', (code) => reject(new Error(`the publishers ended with ${code}`)));
      child.send(what);
    });
  } finally {
    child.removeAllListeners('exit');
    child.kill();
  }
}

/** The most memory the process ever had (Linux); 0 where it cannot be told. */
function peakRssMb({ pid }: ChildProcess): number {
  try {
    const [, kilobytes] =
      /VmHWM:\s+(\d+) kB/.exec(readFileSync(`/proc/${pid}/status`, 'utf8')) ?? [];
    return (Number(kilobytes) * 1024) / 1e6;
  } catch {
    return 0;
  }
}
