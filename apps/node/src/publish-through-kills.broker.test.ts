import { spawn, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import {
  appendFileSync,
  mkdtempSync,
  readFileSync,
  readdirSync,
  renameSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { inflateSync } from 'node:zlib';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { startEmbeddedBroker, type EmbeddedBroker } from '@duskline/broker';
import type { NodeName, NodeWord, Packet } from '@duskline/domain';
import { decodeMessage, encodeAck, resolveMessage } from '@duskline/wire';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';

// The program itself in a process of its own, the real broker, and in place of the store a ledger that keeps the promise of
// the design: a message is stored once under its (boot, seq), and the ack is the number up to which there is no gap.

/** RFC 1950, by the runtime's own library. */
const inflate = (bytes: Uint8Array) => ({ ok: true as const, value: inflateSync(bytes) });
const node = 'withy-weir-1' as NodeName;
const SECRET = 'a-secret-of-withy-weir';
const main = fileURLToPath(new URL('./main.ts', import.meta.url));

interface Row {
  readonly observedAtMs: number;
  readonly volts: number;
}

/** A server that keeps everything in memory. */
function createLedger() {
  const seen = new Map<number, Set<number>>();
  const rows = new Map<string, Row>();
  const words: NodeWord[] = [];
  const refused: string[] = [];
  let doubled = 0;
  let away = false;
  let sendAck: (bytes: Uint8Array) => void = () => undefined;
  return {
    rows,
    words,
    refused,
    doubled: () => doubled,
    boots: () => seen.size,
    goAway: (is: boolean) => (away = is),
    ackBy: (send: (bytes: Uint8Array) => void) => (sendAck = send),
    async receive(packet: Packet) {
      await sleep(Math.random() * 10);
      if (away) throw new Error('the store is away');
      const decoded = decodeMessage(packet, { inflate });
      const resolved = decoded.ok ? resolveMessage(decoded.value, packet.receivedAtMs) : decoded;
      if (!resolved.ok) return void refused.push(resolved.fault.reason);
      const { place, samples, word } = resolved.value;
      if (word !== undefined) words.push(word);
      if (place === undefined) return;
      const ofBoot = seen.get(place.boot) ?? new Set<number>();
      seen.set(place.boot, ofBoot);
      if (!ofBoot.has(place.seq)) {
        ofBoot.add(place.seq);
        for (const { observedAtMs, metrics, values } of samples) {
          const key = `${observedAtMs} ${metrics.join()}`;
          // The key of the sample table: the first to come stays.
          if (rows.has(key)) doubled += 1;
          else rows.set(key, { observedAtMs, volts: values[metrics.indexOf('batt_v')] ?? NaN });
        }
      }
      let upTo = 0;
      while (ofBoot.has(upTo + 1)) upTo += 1;
      if (upTo > 0) sendAck(encodeAck({ boot: place.boot, seq: upTo }));
    },
  };
}

let folder: string;
let log: string;
let broker: EmbeddedBroker | undefined;
let ledger: ReturnType<typeof createLedger>;
let port: number;
let children: ChildProcess[];
let said: string;

async function openBroker(): Promise<void> {
  broker = await startEmbeddedBroker({
    port,
    host: '127.0.0.1',
    verifySecret: async (name, secret) =>
      name === node && Buffer.from(secret).toString() === SECRET,
    receive: (packet) => ledger.receive(packet),
    log: { info: () => undefined, warn: () => undefined, error: () => undefined },
  });
  port = broker.port;
  const { publishAck } = broker;
  ledger.ackBy((bytes) => publishAck(node, bytes));
}
async function closeBroker(): Promise<void> {
  await broker?.close();
  broker = undefined;
}

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'duskline-node-'));
  log = join(folder, 'readings.csv');
  [children, said, port] = [[], '', 0];
  ledger = createLedger();
  await openBroker();
  writeFileSync(join(folder, 'secret'), `${SECRET}\n`);
  writeFileSync(
    join(folder, 'node.json'),
    JSON.stringify({
      node,
      broker: `mqtt://127.0.0.1:${port}`,
      secretFile: 'secret',
      stateDir: 'state',
      log: {
        path: 'readings.csv',
        header: true,
        time: { column: 'time', format: 'unix-ms' },
        columns: [{ column: 'mV', metric: 'batt_v', unit: 'mV' }],
      },
    }),
  );
});
afterEach(async () => {
  for (const child of children) child.kill('SIGKILL');
  await closeBroker();
  rmSync(folder, { recursive: true });
});

function start(): ChildProcess {
  const child = spawn(
    process.execPath,
    ['--conditions=development', '--import', 'tsx', main, join(folder, 'node.json')],
    { stdio: ['ignore', 'ignore', 'pipe'] },
  );
  child.stderr?.on('data', (bytes: Buffer) => (said += bytes.toString()));
  children.push(child);
  return child;
}
const exit = async (child: ChildProcess): Promise<number | null> => {
  if (child.exitCode !== null) return child.exitCode;
  const [code] = (await once(child, 'exit')) as [number | null];
  return code;
};
const spooled = (): readonly string[] =>
  readdirSync(join(folder, 'state', 'spool')).filter((name) => name.endsWith('.msg'));
async function until(holds: () => boolean, withinMs = 40_000): Promise<void> {
  const untilMs = Date.now() + withinMs;
  while (!holds()) {
    if (Date.now() > untilMs) throw new Error(`it did not come about; the program said: ${said}`);
    await sleep(50);
  }
}

/** A builder's script: lines 20 ms apart, with rubbish between, into a log that is put away now and then. */
function writeLog() {
  const firstMs = Date.now() - 3600_000;
  const written = new Map<number, number>();
  let line = 0;
  const add = () => {
    line += 1;
    const observedAtMs = firstMs + line * 1000;
    const millivolts = 12_000 + (line % 1000);
    written.set(observedAtMs, millivolts / 1000);
    appendFileSync(log, `${observedAtMs},${millivolts}\n`);
    if (line % 37 === 0) appendFileSync(log, `${observedAtMs + 500},12x\nrubbish ${line}\n`);
    if (line % 400 === 0) {
      renameSync(log, `${log}.${line}`);
      appendFileSync(log, 'time,mV\n');
    }
  };
  appendFileSync(log, 'time,mV\n');
  const timer = setInterval(add, 20);
  return { written, stop: () => clearInterval(timer) };
}

describe('the field program', () => {
  it('loses and doubles nothing through kills, a broker that goes away, a store that refuses, and a log with bad lines', async () => {
    const script = writeLog();
    let child = start();
    for (let round = 0; round < 8; round++) {
      await until(() => said !== '' || ledger.rows.size > 0 || round > 0);
      await sleep(1000 + Math.random() * 2000);
      if (round === 2 || round === 5) await closeBroker();
      if (round === 3) ledger.goAway(true);
      if (round !== 4) {
        child.kill('SIGKILL');
        await exit(child);
        child = start();
      }
      if (round === 2 || round === 5) {
        await sleep(700);
        await openBroker();
      }
      if (round === 4) ledger.goAway(false);
    }
    script.stop();
    await until(() => ledger.rows.size >= script.written.size && spooled().length === 0, 90_000);

    const stored = [...ledger.rows.values()].sort((a, b) => a.observedAtMs - b.observedAtMs);
    expect(stored).toHaveLength(script.written.size);
    expect(new Map(stored.map((row) => [row.observedAtMs, row.volts]))).toEqual(script.written);
    expect(ledger.doubled()).toBe(0);
    expect(ledger.refused).toEqual([]);
    // Killed seven times; how many of those runs got to speak depends on the machine.
    expect(ledger.boots()).toBeGreaterThan(2);
    const rejected = readFileSync(join(folder, 'state', 'rejected.txt'), 'utf8');
    expect(rejected).toContain('12x');

    child.kill('SIGTERM');
    expect(await exit(child)).toBe(0);
    await sleep(100);
    expect(ledger.words.at(-1)).toMatchObject({ kind: 'farewell', reason: 'asked to stop' });
    expect(spooled()).toEqual([]);
  }, 180_000);

  it('says hello again after its link dropped, dated as it started', async () => {
    writeFileSync(log, `time,mV\n${Date.now()},12500\n`);
    const child = start();
    await until(() => ledger.words.length === 1 && ledger.rows.size === 1);
    await closeBroker();
    await openBroker();
    await until(() => ledger.words.filter(({ kind }) => kind === 'hello').length === 2);
    const [first, second] = ledger.words.filter(({ kind }) => kind === 'hello');
    expect(Math.abs((first?.atMs ?? 0) - (second?.atMs ?? 0))).toBeLessThan(50);
    child.kill('SIGINT');
    expect(await exit(child)).toBe(0);
    await sleep(200);
    // A will delivered after the farewell would make a planned silence look like a fault.
    expect(ledger.words.at(-1)?.kind).toBe('farewell');
  });

  it('sends what was written last before it says farewell', async () => {
    writeFileSync(log, `time,mV\n${Date.now() - 1000},12500\n`);
    const child = start();
    await until(() => ledger.rows.size === 1);
    appendFileSync(log, `${Date.now()},12400\n`);
    child.kill('SIGTERM');
    expect(await exit(child)).toBe(0);
    expect(ledger.rows.size).toBe(2);
    expect(spooled()).toEqual([]);
  });

  it('stops with 0 also without a line, and keeps everything', async () => {
    await closeBroker();
    writeFileSync(log, `time,mV\n${Date.now()},12500\n`);
    const child = start();
    await until(() => said.includes('no line to the broker'));
    child.kill('SIGINT');
    expect(await exit(child)).toBe(0);
    expect(said).toContain('without a farewell');
    await openBroker();
    start();
    await until(() => ledger.rows.size === 1);
  });

  it('ends with 2 for a wrong configuration and 3 beside another copy of itself', async () => {
    start();
    await until(() => ledger.words.length === 1);
    expect(await exit(start())).toBe(3);
    expect(said).toContain('already works in');
    writeFileSync(join(folder, 'node.json'), '{ "node": "X" }');
    expect(await exit(start())).toBe(2);
    expect(said).toContain('a node name has 3 to 40');
  });

  it('says plainly that its secret is refused, and goes on when it is put right', async () => {
    writeFileSync(log, `time,mV\n${Date.now()},12500\n`);
    writeFileSync(join(folder, 'secret'), 'wrong');
    const child = start();
    await until(() => said.includes('refuses the name or the secret'));
    child.kill('SIGTERM');
    await exit(child);
    writeFileSync(join(folder, 'secret'), SECRET);
    start();
    await until(() => ledger.rows.size === 1);
  });
});
