import { writeSync } from 'node:fs';
import { setTimeout as sleep } from 'node:timers/promises';
import { readConfig, startServer } from '@duskline/server';
import { pino } from 'pino';

/**
 * The server as `apps/server` starts it, which ends itself as by SIGKILL when it passes a step of the intake for the n-th
 * time: `DUSKLINE_CRASH_AT=after-commit:40`. `DUSKLINE_SEND_FAULT=after-send:kill` does so at a point of the first urgent
 * message it sends; `stop` freezes it there, `wait` holds it for a while, so that its line can be cut.
 *
 * Plain JavaScript, so that it is up as fast as the built server it stands for.
 */
const [step, count] = (process.env['DUSKLINE_CRASH_AT'] ?? '').split(':');
const [point, fault] = (process.env['DUSKLINE_SEND_FAULT'] ?? '').split(':');
let left = Number(count);
let isSpent = false;

const config = readConfig();
const server = await startServer(config, pino({ level: config.logLevel }), {
  onReceiveStep(passed) {
    if (passed === step && --left <= 0) process.kill(process.pid, 'SIGKILL');
  },
  async onSendPoint(passed, { kind, priority }) {
    if (passed !== point || isSpent || kind !== 'call' || priority !== 'P1') return;
    isSpent = true;
    writeSync(2, `at ${passed}: ${fault}\n`);
    if (fault === 'kill') process.kill(process.pid, 'SIGKILL');
    else if (fault === 'stop') process.kill(process.pid, 'SIGSTOP');
    await sleep(fault === 'wait' ? 2000 : 50);
  },
});
process.on('SIGTERM', () => void server.stop().then(() => process.exit(0)));
