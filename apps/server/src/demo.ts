import { fork, type ChildProcess } from 'node:child_process';
import { existsSync, readFileSync, writeFileSync, mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { pino } from 'pino';
import { readConfig } from './config.ts';
import { buildWebIfStale } from './demo-web.ts';
import { startServer, type RunningServer } from './start-server.ts';

/** What the demo must remember to go on in the same folder: shown at every start, so that nobody has to look for it. */
interface DemoMemory {
  readonly email: string;
  readonly password: string;
  readonly token: string;
}

const EMAIL = 'keeper@greywater.example';
const here = (path: string): string => fileURLToPath(new URL(path, import.meta.url));

const config = readConfig();
mkdirSync(config.dataDir, { recursive: true, mode: 0o700 });
const say = (line: string) => process.stdout.write(`${line}\n`);
const startedAtMs = Date.now();

let server: RunningServer | undefined;
let simulator: ChildProcess | undefined;
let stopping: Promise<void> | undefined;

async function stop(): Promise<void> {
  if (simulator !== undefined && simulator.exitCode === null) {
    const gone = new Promise((resolve) => simulator?.once('exit', resolve));
    simulator.kill('SIGTERM');
    await Promise.race([gone, new Promise((resolve) => setTimeout(resolve, 4000).unref())]);
    simulator.kill('SIGKILL');
  }
  await server?.stop();
}
const stopOnce = () => {
  stopping ??= stop();
  stopping.then(
    () => process.exit(0),
    (cause: unknown) => {
      process.stderr.write(`${String(cause)}\n`);
      process.exit(1);
    },
  );
};
process.on('SIGINT', stopOnce);
process.on('SIGTERM', stopOnce);

function demoMemory(): DemoMemory | undefined {
  const path = join(config.dataDir, 'demo.json');
  return existsSync(path) ? (JSON.parse(readFileSync(path, 'utf8')) as DemoMemory) : undefined;
}

async function firstStart(running: RunningServer): Promise<DemoMemory> {
  const first = await running.makeFirstAccount(EMAIL);
  if (first === undefined)
    throw new Error(
      `The data folder ${config.dataDir} belongs to a server that is no demo; set DUSKLINE_DATA_DIR to another folder.`,
    );
  const token = await running.makeToken(first.account, 'demo');
  const memory = { email: EMAIL, password: first.password, token };
  writeFileSync(join(config.dataDir, 'demo.json'), JSON.stringify(memory, null, 2), {
    mode: 0o600,
  });
  return memory;
}

function startSimulator(
  running: RunningServer,
  memory: DemoMemory,
): Promise<{ readonly node: string; readonly secret: string }> {
  const child = fork(here('../../simulator/src/main.ts'), [], {
    execArgv: process.execArgv,
    env: {
      ...process.env,
      DUSKLINE_URL: running.url,
      DUSKLINE_TOKEN: memory.token,
      DUSKLINE_MQTT_URL: running.mqttUrl,
      DUSKLINE_FLEET_FILE: join(config.dataDir, 'fleet.json'),
    },
  });
  simulator = child;
  return new Promise((resolve, reject) => {
    child.once('message', (message: { bench: { node: string; secret: string } }) =>
      resolve(message.bench),
    );
    child.once('exit', (code) => {
      if (stopping === undefined) reject(new Error(`the pretend fleet ended with code ${code}`));
    });
  });
}

try {
  const log = pino({ level: config.logLevel === 'info' ? 'warn' : config.logLevel });
  const [running] = await Promise.all([
    startServer({ ...config, webRoot: here('../../web/build') }, log),
    buildWebIfStale(say),
  ]);
  server = running;
  const memory = demoMemory() ?? (await firstStart(running));
  await running.inviteDemoPeople();
  say(`sending the fleet's past through the broker; the page is already at ${running.url}`);
  const bench = await startSimulator(running, memory);
  await running.quiet();
  await running.planDemoVisits();

  const { hostname, port } = new URL(running.mqttUrl);
  say('');
  say(`web: ${running.url}`);
  say(`account: ${memory.email} ${memory.password}`);
  say(`token: ${memory.token}`);
  say(`mqtt: ${running.mqttUrl} ${bench.node} ${bench.secret}`);
  say(
    `mosquitto_pub -h ${hostname} -p ${port} -i ${bench.node} -u ${bench.node} -P ${bench.secret} -q 1 -t v1/${bench.node}/up/live -m '[{"n":"batt_v","u":"V","v":13.1},{"n":"charge","u":"%EL","v":64}]'`,
  );
  say(`ready after ${Math.round((Date.now() - startedAtMs) / 1000)} s; Ctrl-C stops everything`);
} catch (cause) {
  process.stderr.write(`${cause instanceof Error ? cause.message : String(cause)}\n`);
  await stop();
  process.exit(1);
}
