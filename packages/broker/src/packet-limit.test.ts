import { describe, expect, it } from 'vitest';
import { createFrameWatch } from './packet-limit.ts';

/** A PUBLISH of QoS 0, laid out by hand after MQTT 3.1.1 §2.2.3 (length in groups of seven bits) and §3.3. */
function publish(topic: string, payloadBytes: number): Buffer {
  const body = Buffer.concat([
    Buffer.from([topic.length >> 8, topic.length & 0xff]),
    Buffer.from(topic),
    Buffer.alloc(payloadBytes, 'p'),
  ]);
  const length: number[] = [];
  let left = body.length;
  do {
    length.push((left % 128) | (left > 127 ? 0x80 : 0));
    left = Math.floor(left / 128);
  } while (left > 0);
  return Buffer.concat([Buffer.from([0x30, ...length]), body]);
}

const inPieces = (bytes: Buffer, size: number): Buffer[] => {
  const pieces: Buffer[] = [];
  for (let at = 0; at < bytes.length; at += size) pieces.push(bytes.subarray(at, at + size));
  return pieces;
};

describe('watching the lengths of packets', () => {
  it.each([1, 2, 3, 7, 64, 1000, 100_000])(
    'sees nothing in short packets (pieces of %i)',
    (size) => {
      const watch = createFrameWatch(1000);
      const stream = Buffer.concat([1, 100, 120, 130, 700, 0, 990].map((n) => publish('a', n)));
      expect(inPieces(stream, size).map(watch).filter(Boolean)).toEqual([]);
    },
  );

  it.each([1, 2, 3, 7, 64, 1000])('sees the long one among them (pieces of %i)', (size) => {
    const watch = createFrameWatch(1000);
    const before = Buffer.concat([publish('a', 500), publish('b', 20)]);
    const long = publish('v1/marl-beck/up/live', 2000);
    const pieces = inPieces(Buffer.concat([before, long]), size);
    let seen: ReturnType<typeof watch>;
    for (const piece of pieces) {
      seen = watch(piece);
      if (seen !== undefined) break;
    }
    expect(seen?.packet.bytes).toBe(long.length);
  });

  it('says where it begins, its topic, and how it goes on', () => {
    const watch = createFrameWatch(1000);
    const before = publish('a', 5);
    const seen = watch(Buffer.concat([before, publish('v1/marl-beck/up/live', 9000)]));
    expect(seen?.startsAt).toBe(before.length);
    expect(seen?.packet.topic).toBe('v1/marl-beck/up/live');
    expect(seen?.packet.head).toHaveLength(4096);
    expect(Buffer.from(seen?.packet.head ?? []).toString()).toBe('p'.repeat(4096));
  });

  it('lets a packet of exactly the limit pass, and none longer', () => {
    const bytes = publish('a', 500).length;
    expect(createFrameWatch(bytes)(publish('a', 500))).toBeUndefined();
    expect(createFrameWatch(bytes - 1)(publish('a', 500))).toBeDefined();
  });
});
