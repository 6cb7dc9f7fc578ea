import { execFile } from 'node:child_process';
import { promisify } from 'node:util';

const run = promisify(execFile);

export type TestBackend = 'process' | 'containers';

/**
 * Where databases and brokers of a test run are to come from, by the variable DUSKLINE_TEST_BACKEND.
 *
 * @returns `auto` when nothing was asked for: processes, or containers where only Docker is there.
 * @throws Error for a value that is none of the three.
 */
export function wantedBackend(): TestBackend | 'auto' {
  const value = process.env['DUSKLINE_TEST_BACKEND'] ?? 'auto';
  if (value === 'process' || value === 'containers' || value === 'auto') return value;
  throw new Error(`DUSKLINE_TEST_BACKEND is "${value}"; it may be process, containers or auto.`);
}

/** @returns undefined when a Docker engine answers, else why not. */
export async function whyNoDocker(): Promise<string | undefined> {
  try {
    await run('docker', ['info'], { timeout: 20_000 });
    return undefined;
  } catch (error) {
    const { code, stderr } = error as { code?: unknown; stderr?: string };
    if (code === 'ENOENT') return 'no docker command is installed';
    return stderr?.trim().split('\n').at(-1) ?? 'docker info failed';
  }
}
