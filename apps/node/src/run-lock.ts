import { mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { failed, ok, type Result } from '@duskline/domain';

/**
 * Sees to it that one program at a time works in a folder: two would use the same numbers and throw each other off the broker.
 * A lock left by a program that was killed, or by a power cut, holds nobody up.
 *
 * @returns how to give it back, or the process that has it
 */
export function takeRunLock(folder: string): Result<() => void, { readonly pid: number }> {
  mkdirSync(folder, { recursive: true, mode: 0o700 });
  const path = join(folder, 'running');
  const mine = markOf(process.pid) ?? String(process.pid);
  for (let attempt = 0; ; attempt += 1) {
    try {
      writeFileSync(path, mine, { flag: 'wx', mode: 0o600 });
      return ok(() => rmSync(path, { force: true }));
    } catch (cause) {
      if ((cause as { code?: string }).code !== 'EEXIST' || attempt > 2) throw cause;
    }
    const holder = readHolder(path);
    if (holder !== undefined && holder.pid !== process.pid && isAlive(holder))
      return failed(holder);
    rmSync(path, { force: true });
  }
}

interface Holder {
  readonly pid: number;
  readonly mark: string;
}

function readHolder(path: string): Holder | undefined {
  try {
    const mark = readFileSync(path, 'utf8');
    const pid = Number.parseInt(mark, 10);
    return pid > 0 ? { pid, mark } : undefined;
  } catch {
    return undefined;
  }
}

/** The same number may belong to another process by now: after a restart of the board nearly always. */
function isAlive({ pid, mark }: Holder): boolean {
  const now = markOf(pid);
  if (now !== undefined) return now === mark;
  try {
    process.kill(pid, 0);
    return markOf(process.pid) === undefined;
  } catch (cause) {
    return (cause as { code?: string }).code === 'EPERM' && markOf(process.pid) === undefined;
  }
}

/** Number, start and boot of a process (proc(5): field 22 of stat, boot_id); undefined where there is no /proc. */
function markOf(pid: number): string | undefined {
  try {
    const stat = readFileSync(`/proc/${pid}/stat`, 'utf8');
    const startTicks = stat.slice(stat.lastIndexOf(')') + 2).split(' ')[19] ?? '';
    const boot = readFileSync('/proc/sys/kernel/random/boot_id', 'utf8').trim();
    return `${pid} ${startTicks} ${boot}`;
  } catch {
    return undefined;
  }
}
