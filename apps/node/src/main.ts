import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { followOnce } from './follow-and-publish.ts';
import { parseNodeConfig } from './node-config.ts';
import { openPublisher } from './publisher.ts';

/** Exit codes: 0 stopped as asked, 2 the configuration is wrong. */
const EXIT_CONFIG = 2;

function fail(lines: readonly string[]): never {
  for (const line of lines) process.stderr.write(`${line}\n`);
  process.exit(EXIT_CONFIG);
}

const path = process.argv[2];
if (path === undefined) fail(['Which configuration? Say: duskline-node CONFIG.json']);

const read = (file: string, what: string): string => {
  try {
    return readFileSync(file, 'utf8');
  } catch (cause) {
    return fail([`${what} ${file} cannot be read: ${(cause as Error).message}`]);
  }
};
const parse = (text: string): unknown => {
  try {
    return JSON.parse(text) as unknown;
  } catch (cause) {
    return fail([`${path} is not JSON: ${(cause as Error).message}`]);
  }
};

const parsed = parseNodeConfig(parse(read(path, 'The configuration')));
if (!parsed.ok) fail([`${path} cannot be used:`, ...parsed.fault.map((fault) => `  ${fault}`)]);
const config = parsed.value;

const publisher = openPublisher({
  node: config.node,
  broker: config.broker,
  secret: read(config.secretFile, 'The secret').trim(),
  spoolDir: join(config.stateDir, 'spool'),
  onFault: (reason) => process.stderr.write(`${reason}\n`),
});

const timer = setInterval(() => {
  const { rejected } = followOnce(config, publisher);
  if (rejected > 0) process.stderr.write(`${rejected} lines could not be read; see rejected.txt\n`);
}, 1000);

const stop = () => {
  clearInterval(timer);
  publisher.farewell('asked to stop', 5000).then(
    () => process.exit(0),
    () => process.exit(1),
  );
};
process.once('SIGTERM', stop);
process.once('SIGINT', stop);
