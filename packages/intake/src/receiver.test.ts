import {
  failed,
  ok,
  type AcceptedMessage,
  type MessageFault,
  type NodeId,
  type NodeName,
  type Packet,
} from '@duskline/domain';
import { setImmediate as nextTurn } from 'node:timers/promises';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { createReceiver, RetryLater, type AcceptOutcome, type Receiver } from './index.ts';
import type { ReceiverDeps } from './receiver.ts';
import type { Rejected } from './rejected.ts';

/**
 * Fakes: the payload is text. `bad` cannot be decoded, `future` cannot be dated, `poison` makes the store's statement fail,
 * `bug` makes the decoder throw; anything else is stored. A number is the message's place in boot 1.
 */
interface Waiter {
  readonly texts: readonly string[];
  readonly settle: (error?: Error) => void;
}

const at = 1_795_600_000_000;
const textOf = ({ payload }: Packet): string => Buffer.from(payload).toString();
const fault = (code: string): MessageFault => ({ code, reason: `it is ${code}` });
const nodeIds: Readonly<Record<string, number>> = {
  'rushy-sluice': 1,
  'tarn-gill': 2,
  'marl-beck': 3,
};

let batches: string[][];
let stored: string[];
let rejected: Rejected[];
let acks: string[];
let news: string[];
let held: Waiter[];
let holding: boolean;
let failure: ((texts: readonly string[]) => Error | undefined) | undefined;
let receiver: Receiver;
const texts = new WeakMap<AcceptedMessage, string>();

const deps: ReceiverDeps<Packet> = {
  decode(packet) {
    if (textOf(packet) === 'bug') throw new RangeError('too deep');
    return textOf(packet) === 'bad' ? failed(fault('json-malformed')) : ok(packet);
  },
  resolve(packet, receivedAtMs) {
    const text = textOf(packet);
    if (text === 'future') return failed(fault('time-in-future'));
    const [, node, , kind] = packet.topic.split('/');
    const message: AcceptedMessage = {
      node: node as NodeName,
      lane: kind === 'backlog' ? 'backlog' : 'live',
      receivedAtMs,
      ...(Number.isNaN(Number(text)) ? {} : { place: { boot: 1, seq: Number(text) } }),
      samples: [],
    };
    texts.set(message, text);
    return ok(message);
  },
  async accept(messages) {
    const batch = messages.map((message) => texts.get(message) ?? '');
    batches.push(batch);
    if (holding) {
      await new Promise<void>((resolve, reject) => {
        const settle = (error?: Error) => (error === undefined ? resolve() : reject(error));
        held.push({ texts: batch, settle });
      });
    }
    const error = failure?.(batch);
    if (error !== undefined) throw error;
    stored.push(...batch);
    return messages.map((message): AcceptOutcome => {
      const nodeId = nodeIds[message.node] as NodeId | undefined;
      if (nodeId === undefined) return { kind: 'unknown-node' };
      const kind = texts.get(message)?.startsWith('again') ? 'duplicate' : 'stored';
      return message.place === undefined ? { kind, nodeId } : { kind, nodeId, ack: message.place };
    });
  },
  quarantine: async (entries) => entries.map((entry) => void rejected.push(entry)),
  sendAck: (node, { boot, seq }) => void acks.push(`${node} ${boot}:${seq}`),
  onStored: (nodeId, lane) => void news.push(`${nodeId} ${lane}`),
  clock: { now: () => at },
};

beforeEach(() => {
  [batches, stored, rejected, acks, news, held] = [[], [], [], [], [], []];
  holding = false;
  failure = undefined;
  receiver = createReceiver(deps);
});

afterEach(() => receiver.idle());

const packet = (text: string, node = 'rushy-sluice', kind = 'live'): Packet => ({
  topic: `v1/${node}/up/${kind}`,
  payload: Buffer.from(text),
  receivedAtMs: at,
});

const send = (text: string, node?: string, kind?: string) =>
  receiver.receive(packet(text, node, kind));

const databaseError = (code: string) => Object.assign(new Error(`SQLSTATE ${code}`), { code });
/** PostgreSQL, Appendix A: 22003 numeric_value_out_of_range, 57P03 cannot_connect_now, 40P01 deadlock_detected. */
const poisonFails = (batch: readonly string[]) =>
  batch.includes('poison') ? databaseError('22003') : undefined;

describe('packets that come together', () => {
  it('share one statement', async () => {
    await Promise.all(['a', 'b', 'c'].map((text) => send(text)));
    expect(batches).toEqual([['a', 'b', 'c']]);
  });

  it('gather while a batch is under way, and go with the next one in their order', async () => {
    holding = true;
    const first = send('a');
    await vi.waitFor(() => expect(held).toHaveLength(1));
    const others = ['b', 'c', 'd'].map((text) => send(text));
    await nextTurn();
    expect(batches).toEqual([['a']]);
    holding = false;
    held[0]?.settle();
    await Promise.all([first, ...others]);
    expect(batches).toEqual([['a'], ['b', 'c', 'd']]);
  });

  it('make batches no larger than is allowed', async () => {
    receiver = createReceiver({ ...deps, maxBatchMessages: 100 });
    await Promise.all(Array.from({ length: 250 }, (_, i) => send(String(i + 1))));
    expect(batches.map((batch) => batch.length)).toEqual([100, 100, 50]);
    expect(stored).toEqual(Array.from({ length: 250 }, (_, i) => String(i + 1)));
  });

  it('never make more than two statements at once, and never two for one node', async () => {
    holding = true;
    const names = Object.keys(nodeIds);
    const all = [0, 1, 2, 3].flatMap((round) => names.map((name) => send(`${round}`, name)));
    for (let settled = 0; settled < 12;) {
      await vi.waitFor(() => expect(held.length).toBeGreaterThan(0));
      await nextTurn();
      expect(held.length).toBeLessThanOrEqual(2);
      for (const waiter of held.splice(0)) {
        settled += waiter.texts.length;
        waiter.settle();
      }
    }
    await Promise.all(all);
    expect(stored).toHaveLength(12);
  });

  it('never share a statement between the lanes, so that the past is in nobody’s way', async () => {
    holding = true;
    const old = Array.from({ length: 20 }, (_, i) => send(`old${i}`, 'rushy-sluice', 'backlog'));
    await vi.waitFor(() => expect(held).toHaveLength(1));
    const fresh = Array.from({ length: 20 }, (_, i) => send(`new${i}`));
    await vi.waitFor(() => expect(held).toHaveLength(2)); // while the past is still under way
    holding = false;
    for (const waiter of held) waiter.settle();
    await Promise.all([...old, ...fresh]);
    for (const batch of batches) {
      expect(new Set(batch.map((text) => text.slice(0, 3))).size).toBe(1);
    }
  });

  it('above their node’s quota go by the lane of the past, and are stored all the same', async () => {
    receiver = createReceiver({ ...deps, livePerSecond: 1 });
    await Promise.all(Array.from({ length: 25 }, (_, i) => send(`m${i}`)));
    expect(stored).toHaveLength(25);
    expect(receiver.figures()).toMatchObject({ stored: 25, overQuota: 15 });
  });
});

describe('a message is settled', () => {
  it('only after its commit', async () => {
    holding = true;
    const settled = vi.fn();
    const sent = send('a');
    void sent.then(settled);
    await vi.waitFor(() => expect(held).toHaveLength(1));
    await nextTurn();
    expect(settled).not.toHaveBeenCalled();
    expect(acks).toEqual([]);
    expect(news).toEqual([]);
    held[0]?.settle();
    await sent;
  });

  it('when it was stored before, without being news', async () => {
    await send('again');
    expect(news).toEqual([]);
    expect(receiver.figures()).toMatchObject({ stored: 0, duplicates: 1 });
  });

  it.each(['bad', 'future', 'bug'])('when it is kept in quarantine, whole (%s)', async (text) => {
    await send(text);
    expect(batches).toEqual([]);
    expect(rejected).toHaveLength(1);
    expect(rejected[0]?.node).toBe('rushy-sluice');
    expect(textOf(rejected[0]?.packet as Packet)).toBe(text);
    expect(rejected[0]?.fault.code).toBe(
      { bad: 'json-malformed', future: 'time-in-future', bug: 'read-failed' }[text],
    );
  });

  it('when its node is not known: quarantined with a sentence that says what to do', async () => {
    await send('a', 'no-such-node');
    expect(rejected[0]?.fault).toEqual({
      code: 'node-unknown',
      reason:
        'No node here is called no-such-node. Make it in Setup, or correct the name in its topic.',
    });
  });

  it.each(['v1/rushy-sluice/up', 'v1/x/up/live', '$SYS/broker', 'v1/rushy-sluice/down/ack'])(
    'when its topic is %s: quarantined',
    async (topic) => {
      await receiver.receive({ topic, payload: Buffer.from('a'), receivedAtMs: at });
      expect(rejected[0]?.fault.code).toBe('topic-unknown');
    },
  );

  it('when it came with the credentials of another node: quarantined under the one that sent it', async () => {
    await receiver.receive(packet('a', 'tarn-gill'), 'rushy-sluice' as NodeName);
    expect(rejected[0]).toMatchObject({
      node: 'rushy-sluice',
      fault: { code: 'topic-of-another' },
    });
    expect(batches).toEqual([]);
  });

  it('when it is the empty message that clears a retained state: nothing is stored', async () => {
    await send('', 'rushy-sluice', 'state');
    expect([batches, rejected]).toEqual([[], []]);
  });
});

describe('a message the store cannot take', () => {
  it('is found among its neighbours, which are stored', async () => {
    failure = poisonFails;
    const sent = Array.from({ length: 200 }, (_, i) => (i === 77 ? 'poison' : `m${i}`));
    await Promise.all(sent.map((text) => send(text)));
    expect(stored).toEqual(sent.filter((text) => text !== 'poison'));
    expect(rejected.map((entry) => textOf(entry.packet))).toEqual(['poison']);
    expect(rejected[0]?.fault).toEqual({
      code: 'store-refused',
      reason:
        'The store could not take this message, though it took its neighbours: SQLSTATE 22003.',
    });
    // Halving 200 down to one takes at most 1 + 2·⌈log2 200⌉ = 17 statements.
    expect(batches.length).toBeLessThanOrEqual(17);
  });

  it('does not hold up those in front of it: they are settled as their part is stored', async () => {
    failure = poisonFails;
    const order: string[] = [];
    const note = (text: string) => send(text).then(() => order.push(text));
    receiver = createReceiver({
      ...deps,
      async quarantine(entries) {
        order.push(`(statements ${batches.length})`);
        return entries.map(() => undefined);
      },
    });
    await Promise.all(['a', 'b', 'c', 'poison'].map(note));
    expect(order.slice(0, 3)).toEqual(['a', 'b', 'c']);
  });
});

describe('when the database is away', () => {
  it.each([
    databaseError('57P03'),
    databaseError('ECONNREFUSED'),
    databaseError('53300'),
    new Error('something nobody has thought of'),
  ])(
    'every message is handed back, none is quarantined, none is tried alone (%s)',
    async (error) => {
      failure = () => error;
      const sent = await Promise.allSettled(['a', 'b', 'c'].map((text) => send(text)));
      for (const outcome of sent) {
        expect(outcome).toMatchObject({ status: 'rejected', reason: { code: 'retry-later' } });
      }
      expect(batches).toHaveLength(1);
      expect([rejected, acks, news]).toEqual([[], [], []]);
      expect(receiver.figures()).toMatchObject({ putOff: 3, waiting: 0 });
    },
  );

  it('and back again, the next messages are stored', async () => {
    failure = () => databaseError('57P03');
    await expect(send('a')).rejects.toBeInstanceOf(RetryLater);
    failure = undefined;
    await send('a');
    expect(stored).toEqual(['a']);
  });

  it('and the quarantine with it, a bad message is handed back too', async () => {
    receiver = createReceiver({
      ...deps,
      quarantine: () => Promise.reject(databaseError('57P03')),
    });
    await expect(send('bad')).rejects.toMatchObject({ code: 'retry-later' });
    await send('good');
  });
});

describe('back-pressure', () => {
  it('refuses what there is no room for, and takes again when there is', async () => {
    receiver = createReceiver({ ...deps, maxWaitingBytes: 10 });
    holding = true;
    const first = send('12345678');
    await expect(send('123')).rejects.toMatchObject({ code: 'retry-later' });
    await vi.waitFor(() => expect(held).toHaveLength(1));
    expect(receiver.figures()).toMatchObject({ waiting: 1, oldestWaitMs: 0 });
    holding = false;
    held[0]?.settle();
    await first;
    await send('123');
    expect(stored).toEqual(['12345678', '123']);
  });

  it('keeps a storm of bad messages to a few commits', async () => {
    let commits = 0;
    receiver = createReceiver({
      ...deps,
      async quarantine(entries) {
        commits += 1;
        await nextTurn();
        rejected.push(...entries);
        return entries.map(() => undefined);
      },
    });
    await Promise.all(Array.from({ length: 50 }, () => send('bad')));
    expect(rejected).toHaveLength(50);
    expect(commits).toBeLessThan(10);
  });

  it('lets a good message pass while its bad neighbour waits for the quarantine', async () => {
    let keep: () => void = () => undefined;
    receiver = createReceiver({
      ...deps,
      quarantine: () => new Promise((resolve) => (keep = () => resolve([undefined]))),
    });
    const bad = send('bad');
    await send('good');
    expect(stored).toEqual(['good']);
    keep();
    await bad;
  });
});

describe('what follows a commit', () => {
  it('is one ack for each node and boot, for the latest place', async () => {
    await Promise.all(['1', '2', '3'].map((text) => send(text)));
    await send('5', 'tarn-gill');
    await receiver.idle();
    expect(acks.sort()).toEqual(['rushy-sluice 1:3', 'tarn-gill 1:5']);
  });

  it('is an ack without being asked, a moment later', async () => {
    await send('4');
    await vi.waitFor(() => expect(acks).toEqual(['rushy-sluice 1:4']));
  });

  it('is an ack for a duplicate as well: the node has not heard of it', async () => {
    receiver = createReceiver({
      ...deps,
      accept: async () => [{ kind: 'duplicate', nodeId: 1 as NodeId, ack: { boot: 2, seq: 9 } }],
    });
    await send('a');
    await receiver.idle();
    expect(acks).toEqual(['rushy-sluice 2:9']);
  });

  it('is one piece of news for each node and lane', async () => {
    await Promise.all([send('1'), send('2'), send('3', 'rushy-sluice', 'backlog')]);
    expect(news.sort()).toEqual(['1 backlog', '1 live']);
  });

  it('undoes no commit when it fails', async () => {
    const troubles: unknown[] = [];
    const boom = () => {
      throw new Error('boom');
    };
    receiver = createReceiver({
      ...deps,
      sendAck: boom,
      onStored: boom,
      onTrouble: (cause) => troubles.push(cause),
    });
    await send('1');
    await receiver.idle();
    expect(stored).toEqual(['1']);
    expect(troubles).toHaveLength(2);
  });
});
