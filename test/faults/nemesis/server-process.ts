import { spawn, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { readFileSync } from 'node:fs';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { waitFor } from '@duskline/test-harness';
import { serverMain } from './built-programs.ts';

/** The same as `serverMain`, which dies where it is told to. */
const crashing = fileURLToPath(new URL('./crashing-server.mjs', import.meta.url));

/** Longer than any stop of a server that is well; one that hangs is a fault, and not to be waited for. */
const STOP_WITHIN_MS = 120_000;

export interface ServerProcess {
  readonly httpUrl: string;
  readonly start: (env?: Readonly<Record<string, string>>) => Promise<void>;
  /** Starts it and does not wait until it is ready. */
  readonly launch: (env?: Readonly<Record<string, string>>) => void;
  /** SIGKILL: nothing in it gets to say anything. */
  readonly kill9: () => Promise<void>;
  readonly stop: () => Promise<void>;
  readonly signal: (name: NodeJS.Signals) => void;
  readonly running: () => boolean;
  readonly pid: () => number | undefined;
  /** Times it ended without being told to. */
  readonly exits: () => number;
  readonly rssMb: () => number;
  /** Everything it has printed. */
  readonly output: () => string;
}

export interface ServerOptions {
  readonly env: Readonly<Record<string, string>>;
  readonly httpPort: number;
  /** Put before the command, e.g. a resource limit. */
  readonly wrap?: readonly string[];
}

/** The real server as a process of its own, to be killed and started again with the same settings. */
export function serverProcess({ env, httpPort, wrap = [] }: ServerOptions): ServerProcess {
  const httpUrl = `http://127.0.0.1:${httpPort}`;
  let child: ChildProcess | undefined;
  let printed = '';
  let exits = 0;
  let asked = false;

  function launch(more: Readonly<Record<string, string>> = {}): void {
    const [program = process.execPath, ...args] = [
      ...wrap,
      process.execPath,
      'DUSKLINE_CRASH_AT' in more ? crashing : serverMain,
    ];
    asked = false;
    const started = spawn(program, args, {
      env: {
        ...process.env,
        ...env,
        ...more,
        DUSKLINE_HTTP_PORT: String(httpPort),
        DUSKLINE_LOG_LEVEL: 'warn',
      },
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    child = started;
    started.on('exit', () => {
      if (!asked) exits += 1;
    });
    for (const stream of [started.stdout, started.stderr])
      stream.on('data', (bytes: Buffer) => {
        printed = (printed + bytes.toString()).slice(-200_000);
      });
  }
  const running = () => child !== undefined && child.exitCode === null && child.signalCode === null;
  async function start(more: Readonly<Record<string, string>> = {}): Promise<void> {
    launch(more);
    const found = await waitFor(
      'the server to be ready',
      async () => {
        if (!running()) return 'ended';
        const answer = await fetch(`${httpUrl}/readyz`, { signal: AbortSignal.timeout(5000) });
        return answer.ok ? 'ready' : undefined;
      },
      { withinMs: 180_000, everyMs: 100 },
    );
    if (found === 'ended') throw new Error(`the server ended:\n${printed.slice(-2000)}`);
  }
  async function end(signal: 'SIGKILL' | 'SIGTERM'): Promise<void> {
    asked = true;
    if (child === undefined || !running()) return;
    const gone = once(child, 'exit');
    child.kill(signal);
    const late = new AbortController();
    const tooLate = sleep(STOP_WITHIN_MS, 'late', { signal: late.signal }).catch(() => 'gone');
    const how = await Promise.race([gone, tooLate]);
    late.abort();
    if (how !== 'late') return;
    child.kill('SIGKILL');
    await gone;
    throw new Error(`the server did not stop on ${signal}:\n${printed.slice(-2000)}`);
  }
  return {
    httpUrl,
    start,
    launch,
    running,
    pid: () => child?.pid,
    kill9: () => end('SIGKILL'),
    stop: () => end('SIGTERM'),
    signal: (name) => child?.kill(name),
    exits: () => exits,
    rssMb() {
      const status = readFileSync(`/proc/${child?.pid ?? 0}/status`, 'utf8');
      return Math.round(Number(/VmRSS:\s+(\d+)/.exec(status)?.[1] ?? 0) / 1024);
    },
    output: () => printed,
  };
}
