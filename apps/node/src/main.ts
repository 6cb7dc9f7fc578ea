import { readFileSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import { parseNodeConfig } from './node-config.ts';
import { runNode } from './run-node.ts';
import { takeRunLock } from './run-lock.ts';
import { tellOnce } from './tell-once.ts';

/** 0: stopped as asked. */
const EXIT_FAILED = 1;
const EXIT_CONFIG = 2;
const EXIT_RUNNING = 3;
/** Stopped a second time, without waiting: 128 + the signal's number, as shells count it. */
const EXIT_AT_ONCE = { SIGINT: 130, SIGTERM: 143, SIGHUP: 129 } as const;

function fail(code: number, lines: readonly string[]): never {
  for (const line of lines) process.stderr.write(`${line}\n`);
  process.exit(code);
}

function read(file: string, what: string): string {
  try {
    return readFileSync(file, 'utf8');
  } catch (cause) {
    return fail(EXIT_CONFIG, [`${what} ${file} cannot be read: ${(cause as Error).message}`]);
  }
}

function readConfig(path: string) {
  let json: unknown;
  try {
    json = JSON.parse(read(path, 'The configuration'));
  } catch (cause) {
    return fail(EXIT_CONFIG, [`${path} is not JSON: ${(cause as Error).message}`]);
  }
  const parsed = parseNodeConfig(json, dirname(resolve(path)));
  if (parsed.ok) return parsed.value;
  const faults = parsed.fault.map((fault) => `  ${fault}`);
  return fail(EXIT_CONFIG, [`${path} cannot be used:`, ...faults]);
}

const path = process.argv[2];
if (path === undefined || process.argv.length > 3)
  fail(EXIT_CONFIG, ['Which configuration? Say: duskline-node CONFIG.json']);
const config = readConfig(path);
const secret = read(config.secretFile, 'The secret').trim();
if (secret === '')
  fail(EXIT_CONFIG, [`${config.secretFile} is empty; it holds the node's secret.`]);
const ca = config.caFile === undefined ? undefined : read(config.caFile, 'The certificate');

const lock = takeRunLock(config.stateDir);
if (!lock.ok)
  fail(EXIT_RUNNING, [`Process ${lock.fault.pid} already works in ${config.stateDir}.`]);

const running = runNode({
  config,
  secret,
  ca,
  onFault: tellOnce((reason) => process.stderr.write(`${reason}\n`)),
});

let stopping = false;
for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const)
  process.on(signal, () => {
    if (stopping) process.exit(EXIT_AT_ONCE[signal]);
    stopping = true;
    running.stop().then(
      (said) => {
        if (!said) process.stderr.write('stopped without a farewell: no line to the broker\n');
        lock.value();
        process.exit(0);
      },
      (cause: unknown) => fail(EXIT_FAILED, [String(cause)]),
    );
  });
