import { spawn, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { fileURLToPath } from 'node:url';
import { waitFor } from '@duskline/test-harness';

const main = fileURLToPath(new URL('../../apps/server/src/main.ts', import.meta.url));

export interface ServerProcess {
  /** SIGKILL: nothing in it gets to say anything. */
  readonly kill9: () => Promise<void>;
  readonly start: () => Promise<void>;
  readonly stop: () => Promise<void>;
  /** Everything it has printed. */
  readonly output: () => string;
}

/** The real server as a process of its own, to be killed and started again with the same settings. */
export function serverProcess(
  env: Readonly<Record<string, string>>,
  httpPort: number,
): ServerProcess {
  let child: ChildProcess | undefined;
  let printed = '';

  async function start(): Promise<void> {
    const started = spawn(process.execPath, ['--conditions=development', '--import', 'tsx', main], {
      env: {
        ...process.env,
        ...env,
        DUSKLINE_HTTP_PORT: String(httpPort),
        DUSKLINE_LOG_LEVEL: 'warn',
      },
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    child = started;
    for (const stream of [started.stdout, started.stderr])
      stream.on('data', (bytes: Buffer) => {
        printed += bytes.toString();
      });
    await waitFor(
      'the server to be ready',
      async () => {
        if (started.exitCode !== null) throw new Error(`the server ended:\n${printed}`);
        const answer = await fetch(`http://127.0.0.1:${httpPort}/readyz`);
        return answer.ok;
      },
      { withinMs: 60_000, everyMs: 100 },
    );
  }
  async function end(signal: 'SIGKILL' | 'SIGTERM'): Promise<void> {
    if (child === undefined || child.exitCode !== null || child.signalCode !== null) return;
    const gone = once(child, 'exit');
    child.kill(signal);
    await gone;
  }
  return { start, kill9: () => end('SIGKILL'), stop: () => end('SIGTERM'), output: () => printed };
}
