import { execFile } from 'node:child_process';
import { createRequire } from 'node:module';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';

const root = fileURLToPath(new URL('../../../', import.meta.url));
const compiler = createRequire(import.meta.url).resolve('typescript/bin/tsc');

const built = (app: 'server' | 'node') =>
  fileURLToPath(new URL(`../../../apps/${app}/dist/main.js`, import.meta.url));

/** What an installation runs: compiled, and so up again in two thirds of the time that the sources take. */
export const serverMain = built('server');
export const nodeMain = built('node');

let building: Promise<unknown> | undefined;

/** Compiles what has changed, once for all experiments of a run: none is made with yesterday's program. */
export async function buildPrograms(): Promise<void> {
  building ??= promisify(execFile)(process.execPath, [compiler, '-b'], { cwd: root });
  await building.catch((cause: unknown) => {
    const { stdout = '' } = cause as { stdout?: string };
    throw new Error(`the programs do not compile:\n${stdout}`, { cause });
  });
}
