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

export interface BacklogFigures {
  readonly readings: number;
  readonly seconds: number;
  readonly liveMessages: number;
  readonly liveLagP50Ms: number;
  readonly liveLagP99Ms: number;
  readonly liveLagMaxMs: number;
  /** Of the server process alone: broker, intake, forecast and pages, without Postgres. */
  readonly serverRssPeakMb: number;
}

const path = (name: string) => fileURLToPath(new URL(name, import.meta.url));
const EVERY_MS = 30_000;
const LIVE_EVERY_MS = 2000;

/**
 * The past of every node through the real server, as a process of its own with all its roles, while every node also sends a
 * fresh reading every 2 s (fifteen times as often as a node does): publishers, server and Postgres on the same cores.
 */
export async function measureBacklog(
  databaseUrl: string,
  nodes: readonly BenchNode[],
  days: number,
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
    const done = await order(path('./intake-backlog-load.ts'), {
      url: `mqtt://127.0.0.1:${mqttPort}`,
      nodes: nodes.map(({ name, secret }) => ({ name, secret })),
      samplesPerNode,
      samplesPerMessage: 60,
      everyMs: EVERY_MS,
      startMs: Math.floor(Date.now() / 1000) * 1000 - days * 86_400_000,
      inFlight: 4,
      liveEveryMs: LIVE_EVERY_MS,
    });
    const lags = [...done.liveLagsMs].sort((a, b) => a - b);
    const lagAt = (ratio: number) => lags[Math.floor(ratio * (lags.length - 1))] ?? 0;
    return {
      readings: nodes.length * samplesPerNode * loadMetrics.length,
      seconds: done.seconds,
      liveMessages: lags.length,
      liveLagP50Ms: lagAt(0.5),
      liveLagP99Ms: lagAt(0.99),
      liveLagMaxMs: lagAt(1),
      serverRssPeakMb: peakRssMb(server),
    };
  } finally {
    const gone = once(server, 'exit');
    server.kill('SIGTERM');
    await gone;
    rmSync(folder, { recursive: true, force: true });
  }
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
