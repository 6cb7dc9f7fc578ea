import { execFile } from 'node:child_process';
import { readFile } from 'node:fs/promises';
import { setTimeout as sleep } from 'node:timers/promises';
import { promisify } from 'node:util';

const run = promisify(execFile);

/** @returns the command line of a running process, or undefined when there is none. */
export async function commandLineOf(pid: number): Promise<string | undefined> {
  if (process.platform === 'linux') {
    const text = await readFile(`/proc/${pid}/cmdline`, 'utf8').catch(() => '');
    // A process that ended but was not reaped yet has an empty command line.
    return text === '' ? undefined : text.replaceAll('\0', ' ').trim();
  }
  const { stdout } = await run('ps', ['-p', String(pid), '-o', 'command=']).catch(() => ({
    stdout: '',
  }));
  return stdout.trim() === '' ? undefined : stdout.trim();
}

/**
 * When a process started, in a unit of the system's own; only good for telling a process from a later
 * one with the same number.
 *
 * @returns undefined when no such process runs.
 */
export async function startMarkOf(pid: number): Promise<string | undefined> {
  if (process.platform === 'linux') {
    const stat = await readFile(`/proc/${pid}/stat`, 'utf8').catch(() => '');
    // proc(5): field 3 is the state, field 22 the start; counted behind the name, which may hold spaces.
    const fields = stat.slice(stat.lastIndexOf(')') + 2).split(' ');
    // Z: ended, and only waiting for its parent to take note.
    return fields[0] === 'Z' ? undefined : fields[19];
  }
  const { stdout } = await run('ps', ['-p', String(pid), '-o', 'lstart=']).catch(() => ({
    stdout: '',
  }));
  return stdout.trim() === '' ? undefined : stdout.trim();
}

/** @returns whether the process was gone within the time. */
export async function waitUntilGone(pid: number, withinMs: number): Promise<boolean> {
  for (let waitedMs = 0; waitedMs < withinMs; waitedMs += 20) {
    if ((await commandLineOf(pid)) === undefined) return true;
    await sleep(20);
  }
  return false;
}

/** Sends a signal; a process that is gone already is no error. */
export function signal(pid: number, name: NodeJS.Signals): void {
  try {
    process.kill(pid, name);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'ESRCH') throw error;
  }
}
