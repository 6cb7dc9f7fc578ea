import { type BacktestOptions, runSite } from './run-site.ts';

/** Runs the files it is sent, one at a time; started by `runSites` as a process of its own. */
const options = JSON.parse(process.argv[2]!) as BacktestOptions;
process.on('message', (file: string) => {
  try {
    process.send!({ result: runSite(file, options) });
  } catch (error) {
    process.send!({ failed: `${file}: ${error instanceof Error ? error.stack : String(error)}` });
  }
});
