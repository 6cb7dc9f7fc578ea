import { once } from 'node:events';
import { createServer, type AddressInfo, type Server, type Socket } from 'node:net';
import type { NodeName } from '@duskline/domain';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { connectConsumer, type Consumer } from './index.ts';

// A broker that speaks MQTT 3.1.1 only, by hand from its specification: what goes over the wire is compared byte for byte.

const CONNECT = 1;
const PUBLISH = 3;
const PUBACK = 4;
const SUBSCRIBE = 8;
const DISCONNECT = 14;

let server: Server;
let seen: { kind: number; bytes: Buffer }[];
let peer: Socket | undefined;
let consumer: Consumer;
let sessionPresent: number;
const silent = { info: () => undefined, warn: () => undefined, error: () => undefined };

beforeEach(async () => {
  seen = [];
  sessionPresent = 0;
  server = createServer((socket) => {
    peer = socket;
    socket.on('error', () => undefined);
    socket.on('data', (data) => takeApart(data).forEach((packet) => answer(socket, packet)));
  }).listen(0, '127.0.0.1');
  await once(server, 'listening');
});

afterEach(async () => {
  await consumer.close();
  peer?.destroy();
  server.close();
});

/** Every packet here is shorter than 128 bytes, so its length is one byte (§2.2.3). */
function takeApart(data: Buffer): Buffer[] {
  const packets: Buffer[] = [];
  for (let at = 0; at < data.length;) {
    const end = at + 2 + (data[at + 1] ?? 0);
    packets.push(data.subarray(at, end));
    at = end;
  }
  return packets;
}

function answer(socket: Socket, bytes: Buffer): void {
  const kind = (bytes[0] ?? 0) >> 4;
  seen.push({ kind, bytes });
  const level = bytes[8];
  if (kind === CONNECT && level !== 4) socket.end(Buffer.from([0x20, 2, 0, 1]));
  else if (kind === CONNECT) socket.write(Buffer.from([0x20, 2, sessionPresent, 0]));
  else if (kind === SUBSCRIBE)
    socket.write(Buffer.from([0x90, 3, bytes[2] ?? 0, bytes[3] ?? 0, 1]));
}

/** PUBLISH, QoS 1 (§3.3). */
const publish = (messageId: number): Buffer => {
  const topic = Buffer.from('v1/marl-beck/up/live');
  const body = Buffer.concat([
    Buffer.from([0, topic.length]),
    topic,
    Buffer.from([messageId >> 8, messageId & 0xff]),
    Buffer.from('x'),
  ]);
  return Buffer.concat([Buffer.from([0x32, body.length]), body]);
};

async function connect(receive: () => Promise<void>): Promise<void> {
  const { port } = server.address() as AddressInfo;
  consumer = await connectConsumer({
    url: `mqtt://127.0.0.1:${port}`,
    clientId: 'ingest-0',
    username: 'ingest-0',
    password: 'x',
    receive,
    log: silent,
  });
  await vi.waitFor(() => expect(consumer.connected()).toBe(true), 5000);
}

const kinds = (kind: number) => seen.filter((packet) => packet.kind === kind);

describe('with a broker of MQTT 3.1.1', () => {
  it('falls back to it, asks for a session that is kept, and subscribes', async () => {
    await connect(() => Promise.resolve());
    await vi.waitFor(() => expect(kinds(SUBSCRIBE)).toHaveLength(1));
    const [first, second] = kinds(CONNECT).map(({ bytes }) => bytes);
    expect(first?.[8]).toBe(5);
    expect(second?.[8]).toBe(4);
    // Connect flags (§3.1.2.3): user name, password, and not "clean session".
    expect((second?.[9] ?? 0) & 0b1100_0010).toBe(0b1100_0000);
    expect(kinds(SUBSCRIBE)[0]?.bytes.toString('latin1')).toContain('v1/+/up/#');
  });

  // One of an earlier version was subscribed to other filters. The retained messages it brings again are passed over.
  it('subscribes again when the session was kept', async () => {
    sessionPresent = 1;
    let calls = 0;
    await connect(async () => void (calls += 1));
    peer?.write(publish(1));
    await vi.waitFor(() => expect(kinds(PUBACK)).toHaveLength(1));
    expect(calls).toBe(1);
    expect(kinds(SUBSCRIBE)).toHaveLength(1);
    expect(kinds(SUBSCRIBE)[0]?.bytes.toString('latin1')).toContain('v1/+/up/#');
  });

  it('writes a PUBACK when the message is committed, in the order the messages came', async () => {
    const commits: (() => void)[] = [];
    await connect(() => new Promise((resolve) => commits.push(resolve)));
    peer?.write(Buffer.concat([publish(1), publish(0x1234), publish(0xffff)]));
    await vi.waitFor(() => expect(commits).toHaveLength(3));
    commits[2]?.();
    commits[1]?.();
    await new Promise((resolve) => setTimeout(resolve, 100));
    expect(kinds(PUBACK)).toEqual([]);
    commits[0]?.();
    await vi.waitFor(() => expect(kinds(PUBACK)).toHaveLength(3));
    expect(kinds(PUBACK).map(({ bytes }) => bytes.toString('hex'))).toEqual([
      '40020001',
      '40021234',
      '4002ffff',
    ]);
  });
});

describe('a consumer that closes', () => {
  it('does so in time though the broker never acknowledges what it was told', async () => {
    await connect(() => Promise.resolve());
    consumer.publishAck('marl-beck' as NodeName, Buffer.from('7'));
    await vi.waitFor(() => expect(seen.some(({ kind }) => kind === PUBLISH)).toBe(true), 5000);
    const gone = once(peer ?? server, 'close');
    await consumer.close(200);
    await gone;
  });

  it('hears the acknowledgement of what it said behind messages it no longer takes', async () => {
    const taken: unknown[] = [];
    await connect(() => {
      taken.push('a message');
      return Promise.resolve();
    });
    consumer.publishAck('marl-beck' as NodeName, Buffer.from('7'));
    const said = await vi.waitFor(() => {
      const found = seen.find(({ kind }) => kind === PUBLISH);
      if (found === undefined) throw new Error('Nothing was published.');
      return found.bytes;
    }, 5000);
    const closing = consumer.close(20_000);
    // After the topic, whose length is in the third and fourth byte, comes the packet identifier.
    const at = 4 + said.readUInt16BE(2);
    peer?.write(publish(9));
    peer?.write(Buffer.from([0x40, 2, said[at] ?? 0, said[at + 1] ?? 0]));
    await closing;
    expect(taken).toEqual([]);
    expect(seen.some(({ kind }) => kind === PUBACK)).toBe(false);
    expect(seen.at(-1)?.kind).toBe(DISCONNECT);
  });
});

it('an address that is not a broker’s is refused at once', async () => {
  await expect(
    connectConsumer({
      url: 'http://127.0.0.1:1',
      clientId: 'x',
      username: 'x',
      password: 'x',
      receive: () => Promise.resolve(),
      log: silent,
    }),
  ).rejects.toThrow('begins with mqtt://');
  const { port } = server.address() as AddressInfo;
  consumer = await connectConsumer({
    url: `mqtt://127.0.0.1:${port}`,
    clientId: 'x',
    username: 'x',
    password: 'x',
    receive: () => Promise.resolve(),
    log: silent,
  });
});
