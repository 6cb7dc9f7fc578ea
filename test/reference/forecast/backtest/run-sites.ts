import { type ChildProcess, fork } from 'node:child_process';
import { availableParallelism } from 'node:os';
import { fileURLToPath } from 'node:url';
import type { BacktestOptions, SiteResult } from './run-site.ts';

type Answer =
  { readonly result: SiteResult; readonly failed?: undefined } | { readonly failed: string };

/**
 * Runs all files, on as many processes as there are cores; the order of the results is that of the files.
 *
 * Processes, not worker threads: the loader of TypeScript sources does not reach into threads.
 */
export async function runSites(
  files: readonly string[],
  options: BacktestOptions,
): Promise<readonly SiteResult[]> {
  const results = new Map<string, SiteResult>();
  const waiting = [...files];
  const workers = Math.min(files.length, Math.max(1, availableParallelism()));
  const started: ChildProcess[] = [];
  try {
    await Promise.all(
      Array.from({ length: workers }, () => {
        const worker = fork(fileURLToPath(new URL('./worker.ts', import.meta.url)), [
          JSON.stringify(options),
        ]);
        started.push(worker);
        return feed(worker, waiting, results);
      }),
    );
  } finally {
    for (const worker of started) worker.kill();
  }
  return files.map((file) => results.get(file)!);
}

function feed(
  worker: ChildProcess,
  waiting: string[],
  results: Map<string, SiteResult>,
): Promise<void> {
  return new Promise((resolve, reject) => {
    let file: string | undefined;
    const next = (): void => {
      file = waiting.shift();
      if (file === undefined) resolve();
      else worker.send(file);
    };
    worker.on('message', (answer: Answer) => {
      if (answer.failed !== undefined) return reject(new Error(answer.failed));
      results.set(file!, answer.result);
      process.stderr.write(`${answer.result.site}: ${answer.result.outlooks.length} outlooks\n`);
      next();
    });
    worker.on('exit', (code) => {
      if (file !== undefined) reject(new Error(`${file}: its process ended (${code}).`));
    });
    next();
  });
}
