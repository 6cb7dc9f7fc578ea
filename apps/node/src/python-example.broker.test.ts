import { execFile } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { promisify } from 'node:util';
import { startEmbeddedBroker } from '@duskline/broker';
import type { Packet } from '@duskline/domain';
import { failed } from '@duskline/domain';
import { decodeMessage, resolveMessage } from '@duskline/wire';
import { expect, it } from 'vitest';

const run = promisify(execFile);
const SECRET = 'a-secret-of-withy-weir';
/** A version manager's Python may come first in the path, without what the system's has. */
const pythons = await Promise.all(
  ['python3', '/usr/bin/python3'].map((python) =>
    run(python, ['-c', 'import paho.mqtt.publish']).then(
      () => [python],
      () => [],
    ),
  ),
);
const python = pythons.flat()[0];
if (python === undefined)
  console.warn(
    'SKIPPED the Python of the README: no python3 with paho-mqtt (Debian: python3-paho-mqtt)',
  );

it.skipIf(python === undefined)('the Python of the README publishes a reading', async () => {
  const received: Packet[] = [];
  const broker = await startEmbeddedBroker({
    port: 0,
    host: '127.0.0.1',
    verifySecret: async (_name, secret) => Buffer.from(secret).toString() === SECRET,
    receive: async (packet) => void received.push(packet),
    log: { info: () => undefined, warn: () => undefined, error: () => undefined },
  });
  try {
    const readme = readFileSync(new URL('../README.md', import.meta.url), 'utf8');
    const script = /```python\n([\s\S]*?)```/.exec(readme)?.[1] ?? '';
    await run(python!, [
      '-c',
      script.replace('"SECRET"', `"${SECRET}"`).replace('port=1883', `port=${broker.port}`),
    ]);
    const [packet] = received;
    if (packet === undefined) throw new Error('nothing came');
    const decoded = decodeMessage(packet, { inflate: () => failed('corrupt') });
    if (!decoded.ok) throw new Error(decoded.fault.reason);
    const resolved = resolveMessage(decoded.value, Date.now());
    if (!resolved.ok) throw new Error(resolved.fault.reason);
    expect(resolved.value.samples).toMatchObject([
      { metrics: ['batt_v', 'charge'], values: [12.61, 64.2], timeQuality: 'synced' },
    ]);
  } finally {
    await broker.close();
  }
});
