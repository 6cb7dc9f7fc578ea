import { spawn } from 'node:child_process';
import { existsSync, readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('../../../', import.meta.url));
const sources = [
  'apps/web/src',
  'apps/web/package.json',
  'apps/web/static',
  'apps/web/svelte.config.js',
  'shared/contract/src',
  'shared/domain/src',
];

/** Builds the web app when there is no build yet, or one older than its sources. */
export async function buildWebIfStale(say: (line: string) => void): Promise<void> {
  const built = join(root, 'apps/web/build/index.html');
  if (existsSync(built)) {
    const builtAtMs = statSync(built).mtimeMs;
    if (sources.every((path) => newestMs(join(root, path)) <= builtAtMs)) return;
  }
  say('building the web app (once)');
  const npm = process.platform === 'win32' ? 'npm.cmd' : 'npm';
  const child = spawn(npm, ['run', 'build', '-w', '@duskline/web', '--silent'], {
    cwd: root,
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  const output: Buffer[] = [];
  child.stdout.on('data', (bytes: Buffer) => output.push(bytes));
  child.stderr.on('data', (bytes: Buffer) => output.push(bytes));
  const code = await new Promise<number | null>((resolve, reject) => {
    child.once('error', reject);
    child.once('exit', resolve);
  });
  if (code !== 0)
    throw new Error(`The web app could not be built:\n${Buffer.concat(output).toString()}`);
}

function newestMs(path: string): number {
  if (!existsSync(path)) return 0;
  const entry = statSync(path);
  if (!entry.isDirectory()) return entry.mtimeMs;
  return Math.max(entry.mtimeMs, ...readdirSync(path).map((name) => newestMs(join(path, name))));
}
