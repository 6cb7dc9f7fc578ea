import { execFileSync } from 'node:child_process';
import { chmodSync, existsSync, mkdirSync, rmSync, statfsSync } from 'node:fs';
import { join } from 'node:path';
import type { Lab } from '../lab.ts';

/** A small disk of its own: a file with a file system in it. */
export interface LoopVolume {
  readonly image: string;
  readonly mountedAt: string;
  /** Takes all that is free. */
  readonly fill: () => void;
  readonly free: () => void;
}

/** @returns undefined when one can be made, else why not */
export function whyNoLoopVolume(): string | undefined {
  if (process.platform !== 'linux') return 'loop devices are Linux only';
  if (process.getuid?.() !== 0) return 'mounting a loop file takes root';
  if (!existsSync('/dev/loop-control')) return 'this kernel has no loop devices';
  for (const program of ['mkfs.ext4', 'fallocate'])
    try {
      execFileSync('which', [program], { stdio: 'ignore' });
    } catch {
      return `${program} is not installed`;
    }
  return undefined;
}

export function makeLoopVolume(lab: Lab, megabytes: number): LoopVolume {
  const image = join(lab.folder, 'disk.img');
  execFileSync('truncate', ['-s', `${megabytes}M`, image]);
  execFileSync('mkfs.ext4', ['-q', '-m', '0', image]);
  const mountedAt = mountLoop(lab, image, 'disk');
  const filler = join(mountedAt, 'filler');
  return {
    image,
    mountedAt,
    fill() {
      // Whoever writes there goes on meanwhile: what was free a moment ago may be taken.
      for (let spare = 4; ; spare *= 2) {
        const { bavail, bsize } = statfsSync(mountedAt);
        const bytes = Math.max(bsize, (bavail - spare) * bsize);
        try {
          execFileSync('fallocate', ['-l', String(bytes), filler], { stdio: 'pipe' });
          return;
        } catch (cause) {
          if (bytes === bsize) throw cause;
        }
      }
    },
    free: () => rmSync(filler, { force: true }),
  };
}

/** @returns the folder; unmounted when the experiment is over */
export function mountLoop(lab: Lab, image: string, name: string): string {
  const at = join(lab.folder, name);
  mkdirSync(at, { recursive: true });
  execFileSync('mount', ['-o', 'loop', image, at]);
  lab.undo(() => execFileSync('umount', ['-l', at]));
  chmodSync(lab.folder, 0o755);
  chmodSync(at, 0o777);
  return at;
}
