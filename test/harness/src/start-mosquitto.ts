import { mosquittoAcl, mosquittoConfig, slotNames, writeMosquittoPassword } from '@duskline/broker';
import { execFile } from 'node:child_process';
import { chmod, mkdir, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { promisify } from 'node:util';
import { freePort } from './free-port.ts';
import { runMosquittoContainer } from './mosquitto-container.ts';
import { runMosquittoProcess } from './mosquitto-process.ts';
import type { BrokerPlaces, RunningMosquitto } from './running-mosquitto.ts';
import { wantedBackend, whyNoDocker, type TestBackend } from './test-backend.ts';

const run = promisify(execFile);

export interface MosquittoOptions {
  /** The server's accounts: they hear every node and speak to every node. Default: every intake slot, with one password. */
  readonly consumers?: readonly BrokerAccount[];
  readonly nodes?: readonly BrokerAccount[];
  /** Lines to add to the configuration that ships. */
  readonly extraConfig?: string;
  /** Lines to add to the access rules that ship. */
  readonly extraAcl?: string;
}

export interface BrokerAccount {
  readonly name: string;
  readonly password: string;
}

/** A Mosquitto of one test, with the configuration and access rules that ship. */
export interface TestMosquitto {
  /** `mqtt://127.0.0.1:port`, without an account. */
  readonly url: string;
  readonly port: number;
  /** Adds an account, or changes its password, and has the broker read it. */
  readonly setPassword: (account: BrokerAccount) => Promise<void>;
  /** Everything it has said so far. */
  readonly log: () => Promise<string>;
  /** SIGKILL: what was not saved is lost. */
  readonly kill9: () => Promise<void>;
  /** Clean stop (when it runs) and start with the same files on the same port. */
  readonly restart: () => Promise<void>;
  /** Clean stop; the files are kept for restart. */
  readonly pause: () => Promise<void>;
  /** Ends it and removes everything. */
  readonly stop: () => Promise<void>;
}

/** The first intake slot. */
export const DEFAULT_CONSUMER: BrokerAccount = { name: 'ingest-0', password: 'only-in-tests' };

/**
 * @returns undefined when startMosquitto can start one, else the reason, for a test to skip loudly:
 *   `const why = await whyNoMosquitto(); if (why) console.warn('SKIPPED: …', why)`.
 */
export async function whyNoMosquitto(): Promise<string | undefined> {
  const found = await findBackend();
  return 'missing' in found ? found.missing : undefined;
}

/**
 * Starts a Mosquitto: an installed one as a process, or an image (DUSKLINE_TEST_MOSQUITTO_IMAGE) where
 * DUSKLINE_TEST_BACKEND says `containers`, or says nothing and only Docker is there.
 *
 * @throws Error with whyNoMosquitto's reason.
 */
export async function startMosquitto(options: MosquittoOptions = {}): Promise<TestMosquitto> {
  const found = await findBackend();
  if ('missing' in found) throw new Error(`No Mosquitto to test with: ${found.missing}.`);
  const folder = await mkdtemp(path.join(tmpdir(), 'duskline-test-mosquitto-'));
  const port = await freePort();
  const inside =
    found.backend === 'process' ? { folder, port } : { folder: '/duskline', port: 1883 };
  const places = { folder, port };
  try {
    await writeFiles(folder, inside, options);
    const broker = await (found.backend === 'process'
      ? runMosquittoProcess(found.program, places)
      : runMosquittoContainer(found.image, places));
    await broker.start();
    return handleOf(broker, places);
  } catch (error) {
    await rm(folder, { recursive: true, force: true });
    throw error;
  }
}

function handleOf(broker: RunningMosquitto, places: BrokerPlaces): TestMosquitto {
  return {
    url: `mqtt://127.0.0.1:${places.port}`,
    port: places.port,
    log: broker.log,
    setPassword: async ({ name, password }) => {
      await writeMosquittoPassword(path.join(places.folder, 'passwords'), name, password);
      await chmod(path.join(places.folder, 'passwords'), 0o644);
      await broker.takeFile('passwords');
      await broker.signal('SIGHUP');
    },
    kill9: () => broker.signal('SIGKILL'),
    pause: () => broker.signal('SIGTERM'),
    restart: async () => {
      await broker.signal('SIGTERM');
      await broker.start();
    },
    stop: async () => {
      await broker.remove();
      await rm(places.folder, { recursive: true, force: true });
    },
  };
}

/** @param inside folder and port as the broker sees them. */
async function writeFiles(
  folder: string,
  inside: BrokerPlaces,
  options: MosquittoOptions,
): Promise<void> {
  const consumers = options.consumers ?? slotNames.map((name) => ({ ...DEFAULT_CONSUMER, name }));
  await mkdir(path.join(folder, 'data'));
  const config = mosquittoConfig({
    port: inside.port,
    // A container's port is published on the loopback address only.
    ...(inside.folder === folder ? { host: '127.0.0.1' } : {}),
    passwordFile: `${inside.folder}/passwords`,
    aclFile: `${inside.folder}/acl`,
    dataDir: `${inside.folder}/data/`,
  });
  const additions = [
    // Started by root it would drop to an account that cannot reach this folder.
    'user root',
    // What says that it is running.
    'log_type information',
    options.extraConfig ?? '',
  ];
  // Mosquitto 2.0.11 keeps what it writes to a piped standard output until there is a lot of it.
  const prompt = config.replace('log_dest stdout', 'log_dest stderr');
  await writeFile(path.join(folder, 'mosquitto.conf'), `${prompt}\n${additions.join('\n')}\n`);
  const acl = mosquittoAcl({ consumers: consumers.map((consumer) => consumer.name) });
  await writeFile(path.join(folder, 'acl'), `${acl}\n${options.extraAcl ?? ''}\n`);
  await writeFile(path.join(folder, 'passwords'), '');
  for (const { name, password } of [...consumers, ...(options.nodes ?? [])]) {
    await writeMosquittoPassword(path.join(folder, 'passwords'), name, password);
  }
}

type Found =
  | { readonly backend: Extract<TestBackend, 'process'>; readonly program: string }
  | { readonly backend: Extract<TestBackend, 'containers'>; readonly image: string }
  | { readonly missing: string };

async function findBackend(): Promise<Found> {
  const wanted = wantedBackend();
  if (wanted !== 'containers') {
    const program = await installedProgram();
    if (program !== undefined) return { backend: 'process', program };
    if (wanted === 'process') return { missing: notInstalled };
  }
  const whyNot = await whyNoDocker();
  if (whyNot === undefined) {
    const image = process.env['DUSKLINE_TEST_MOSQUITTO_IMAGE'] ?? 'eclipse-mosquitto:2.0.22';
    return { backend: 'containers', image };
  }
  return { missing: wanted === 'containers' ? whyNot : `${notInstalled}, and ${whyNot}` };
}

const notInstalled = 'mosquitto is not installed (Debian: apt-get install mosquitto)';

async function installedProgram(): Promise<string | undefined> {
  for (const program of ['mosquitto', '/usr/sbin/mosquitto', '/usr/local/sbin/mosquitto']) {
    // `-h` prints its version and ends with code 3.
    const { code } = (await run(program, ['-h']).catch((error: unknown) => error)) as {
      code?: unknown;
    };
    if (code !== 'ENOENT' && code !== 'EACCES') return program;
  }
  return undefined;
}
