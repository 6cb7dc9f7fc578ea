import { SECOND_MS } from '@duskline/domain';
import { runFleet, type RunningFleet } from './run-fleet.ts';

/**
 * The pretend fleet as a program. Told by its parent: DUSKLINE_URL, DUSKLINE_TOKEN, DUSKLINE_MQTT_URL,
 * DUSKLINE_FLEET_FILE; and if wanted DUSKLINE_FLEET_DAYS, DUSKLINE_FLEET_STEP_S, DUSKLINE_FLEET_SITES.
 */
const need = (name: string): string => {
  const value = process.env[name];
  if (value !== undefined && value !== '') return value;
  throw new Error(`${name} is not set; the demo sets it. See apps/simulator/README.md.`);
};
const number = (name: string, fallback: number): number => {
  const text = process.env[name];
  if (text === undefined || text === '') return fallback;
  const value = Number(text);
  if (value > 0) return value;
  throw new Error(`${name} is "${text}", not a number above 0.`);
};

let running: RunningFleet | undefined;
const stop = () => {
  // While it still tells the past there is nothing to say goodbye to: what is committed is remembered.
  if (running === undefined) process.exit(0);
  running.stop().then(
    () => process.exit(0),
    () => process.exit(1),
  );
};
process.on('SIGTERM', stop);
// Ctrl-C reaches the whole group; the parent decides when this one ends.
process.on('SIGINT', () => undefined);
process.on('disconnect', stop);

try {
  running = await runFleet({
    door: { url: need('DUSKLINE_URL'), token: need('DUSKLINE_TOKEN') },
    mqttUrl: need('DUSKLINE_MQTT_URL'),
    memoryPath: need('DUSKLINE_FLEET_FILE'),
    historyDays: number('DUSKLINE_FLEET_DAYS', 60),
    liveStepMs: number('DUSKLINE_FLEET_STEP_S', 30) * SECOND_MS,
    siteCount: number('DUSKLINE_FLEET_SITES', 20),
    seed: 20_261,
    say: (line) => process.stderr.write(`fleet: ${line}\n`),
  });
  process.send?.({ kind: 'history-sent', bench: running.bench });
} catch (cause) {
  process.stderr.write(`fleet: ${cause instanceof Error ? cause.message : String(cause)}\n`);
  process.exit(1);
}
