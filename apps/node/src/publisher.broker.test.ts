import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { startEmbeddedBroker, type EmbeddedBroker } from '@duskline/broker';
import type { MessagePlace, NodeName, Packet } from '@duskline/domain';
import { decodeMessage, encodeAck, encodeMessage } from '@duskline/wire';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openPublisher, type Publisher } from './publisher.ts';

const node = 'tarn-gill-1' as NodeName;
const SECRET = 'a-secret-of-tarn-gill';
let folder: string;
let broker: EmbeddedBroker;
let publishers: Publisher[];
let faults: string[];
/** Everything that reached the server, and which of it the server keeps in quarantine: that is never acknowledged. */
let arrived: MessagePlace[];
let isRefused: (place: MessagePlace) => boolean;
let known: MessagePlace[];

async function receive(packet: Packet): Promise<void> {
  const decoded = decodeMessage(packet, { inflate: () => ({ ok: false, fault: 'corrupt' }) });
  if (!decoded.ok || decoded.value.place === undefined) return;
  const { boot, seq } = decoded.value.place;
  arrived.push({ boot, seq });
  if (isRefused({ boot, seq })) return;
  known.push({ boot, seq });
  let upTo = 0;
  while (known.some((place) => place.boot === boot && place.seq === upTo + 1)) upTo += 1;
  if (upTo > 0) broker.publishAck(node, encodeAck({ boot, seq: upTo }));
}

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'duskline-publisher-'));
  [publishers, faults, arrived, known, isRefused] = [[], [], [], [], () => false];
  broker = await startEmbeddedBroker({
    port: 0,
    host: '127.0.0.1',
    verifySecret: async (_name, secret) => Buffer.from(secret).toString() === SECRET,
    receive,
    log: { info: () => undefined, warn: () => undefined, error: () => undefined },
  });
});
afterEach(async () => {
  await Promise.all(publishers.map((publisher) => publisher.close()));
  await broker.close();
  rmSync(folder, { recursive: true });
});

function open(): Publisher {
  const publisher = openPublisher({
    node,
    broker: `mqtt://127.0.0.1:${broker.port}`,
    secret: SECRET,
    spoolDir: folder,
    resendMs: 200,
    onFault: (reason) => faults.push(reason),
  });
  publishers.push(publisher);
  return publisher;
}
let second = 0;
const message = () => ({
  lane: 'live' as const,
  note: 'n',
  encode: (place: MessagePlace) =>
    encodeMessage({
      node,
      place,
      samples: [
        {
          observedAtMs: Date.now() - 3600_000 + 1000 * second++,
          metrics: ['batt_v'],
          values: [12.5],
        },
      ],
    }),
});
async function until(holds: () => boolean, withinMs = 20_000): Promise<void> {
  const untilMs = Date.now() + withinMs;
  while (!holds()) {
    if (Date.now() > untilMs) throw new Error(`it did not come about; said: ${faults.join('; ')}`);
    await sleep(20);
  }
}

describe('a script that publishes by itself', () => {
  it('may send before there is a line: everything goes out in order, each once, and is then forgotten', async () => {
    const publisher = open();
    for (let i = 0; i < 60; i++) publisher.send(message());
    await until(() => publisher.waiting() === 0);
    expect(arrived.map(({ seq }) => seq)).toEqual(Array.from({ length: 60 }, (_, i) => i + 1));
    expect(publisher.connected()).toBe(true);
  });

  it('is not held up for ever by one message that the server will never confirm, and keeps that one', async () => {
    const publisher = open();
    const poisoned = publisher.boot();
    isRefused = ({ boot, seq }) => boot === poisoned && seq === 3;
    for (let i = 0; i < 6; i++) publisher.send(message());
    await until(() => publisher.boot() !== poisoned);
    publisher.send(message());
    await until(() => publisher.waiting() <= 4);
    // What is behind the refused one is settled once it has been taken for long enough and something later is confirmed.
    await sleep(300);
    publisher.send(message());
    await until(() => publisher.waiting() === 0);
    expect(
      readdirSync(join(folder, 'set-aside')).filter((name) => name.includes('0000000003-live')),
    ).toHaveLength(1);
    expect(faults.join()).toContain('never confirmed');
  });

  it('goes on with a server that was set up anew and never saw the beginning of this boot', async () => {
    const publisher = open();
    publisher.send(message());
    await until(() => publisher.waiting() === 0);
    known = [];
    publisher.send(message());
    const before = publisher.boot();
    await until(() => publisher.boot() !== before);
    publisher.send(message());
    await until(() => known.some(({ boot, seq }) => boot === publisher.boot() && seq === 1));
    await sleep(300);
    publisher.send(message());
    await until(() => publisher.waiting() === 0);
  });

  it('sends again what an earlier run left, before anything new', async () => {
    const first = open();
    await until(() => first.connected());
    isRefused = () => true;
    first.send(message());
    first.send(message());
    await until(() => arrived.length === 2);
    await first.close();
    isRefused = () => false;
    arrived = [];
    const next = open();
    next.send(message());
    await until(() => next.waiting() === 0);
    expect(arrived.map(({ boot, seq }) => [boot === next.boot(), seq])).toEqual([
      [false, 1],
      [false, 2],
      [true, 1],
    ]);
  });
});
