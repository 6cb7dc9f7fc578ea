import {
  failed,
  ok,
  type AcceptedMessage,
  type NodeId,
  type NodeName,
  type Packet,
} from '@duskline/domain';
import { beforeEach, describe, expect, it } from 'vitest';
import { createReceiver, type ReceiverDeps } from './receiver.ts';

// What a node is told of, and when: payload `bad` cannot be decoded, and stands at 3:8; anything else is stored at 1:1.

let acks: string[];
let steps: string[];

const deps: ReceiverDeps<Packet> = {
  decode: (packet) =>
    Buffer.from(packet.payload).toString() === 'bad'
      ? failed({ code: 'json-malformed', reason: 'It is bad.' })
      : ok(packet),
  resolve: (_packet, receivedAtMs) =>
    ok({
      node: 'rushy-sluice' as NodeName,
      lane: 'live',
      receivedAtMs,
      place: { boot: 1, seq: 1 },
      samples: [],
    } satisfies AcceptedMessage),
  accept: async () => [{ kind: 'stored', nodeId: 1 as NodeId, ack: { boot: 1, seq: 1 } }],
  salvagePlace: () => ({ boot: 3, seq: 8 }),
  quarantine: async (entries) => entries.map(({ place }) => place),
  sendAck: (node, { boot, seq }) => void acks.push(`${node} ${boot}:${seq}`),
  onStored: () => undefined,
  clock: { now: () => 0 },
  onStep: (step) => steps.push(step),
};

beforeEach(() => {
  [acks, steps] = [[], []];
});

const packet = (text: string, node = 'rushy-sluice'): Packet => ({
  topic: `v1/${node}/up/live`,
  payload: Buffer.from(text),
  receivedAtMs: 0,
});

describe('a message that could not be accepted', () => {
  it('is settled once it is kept, where its place can be read', async () => {
    const { receive, idle } = createReceiver(deps);
    await receive(packet('bad'));
    await idle();
    expect(acks).toEqual(['rushy-sluice 3:8']);
  });

  it('is kept without its place when even that cannot be read', async () => {
    const { receive, idle, figures } = createReceiver({
      ...deps,
      salvagePlace() {
        throw new RangeError('too deep');
      },
    });
    await receive(packet('bad'));
    await idle();
    expect(figures()).toMatchObject({ quarantined: 1 });
    expect(acks).toEqual([]);
  });

  it('settles nothing of a node in whose name another sent it', async () => {
    const { receive, idle } = createReceiver(deps);
    await receive(packet('bad', 'tarn-gill'), 'rushy-sluice' as NodeName);
    await idle();
    expect(acks).toEqual([]);
  });
});

it('lets pass what the broker had kept: it is old, and came once when it was new', async () => {
  const { receive, idle } = createReceiver(deps);
  await receive({ ...packet('good'), retained: true });
  await receive({ ...packet('bad'), retained: true });
  await idle();
  expect([steps, acks]).toEqual([[], []]);
});

it('tells a test of faults of each step, in order', async () => {
  const { receive, idle } = createReceiver(deps);
  await receive(packet('good'));
  await idle();
  expect(steps).toEqual([
    'before-parse',
    'after-parse',
    'in-statement',
    'after-commit',
    'after-ack',
  ]);
});
