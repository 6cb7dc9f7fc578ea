import { readConfig, startServer } from '@duskline/server';
import { pino } from 'pino';

/**
 * The server as `apps/server` starts it, which ends itself as by SIGKILL when it passes a step of the intake for the n-th
 * time: `DUSKLINE_CRASH_AT=after-commit:40`.
 */
const [point, count] = (process.env['DUSKLINE_CRASH_AT'] ?? '').split(':');
let left = Number(count);

const config = readConfig();
const server = await startServer(config, pino({ level: config.logLevel }), {
  onReceiveStep(step) {
    if (step === point && --left <= 0) process.kill(process.pid, 'SIGKILL');
  },
});
process.on('SIGTERM', () => void server.stop().then(() => process.exit(0)));
