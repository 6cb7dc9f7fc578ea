import {
  failed,
  type AcceptedMessage,
  type Lane,
  type MessageFault,
  type MessagePlace,
  type NodeId,
  type NodeName,
  type Packet,
  type Result,
} from '@duskline/domain';
import { parseTopic, type UpKind } from '@duskline/wire';
import type { Accept, AcceptOutcome } from './accept-outcome.ts';
import { createAckGatherer } from './ack-gatherer.ts';
import { createBatchPump, type BatchPump } from './batch-pump.ts';
import {
  nodeUnknown,
  readFailed,
  say,
  storeRefused,
  topicOfAnother,
  topicUnknown,
} from './intake-faults.ts';
import { createLaneTurns } from './lane-turns.ts';
import { createLiveQuota } from './live-quota.ts';
import type { Rejected } from './rejected.ts';
import { RetryLater } from './retry-later.ts';
import { createSetAside, type KeepAside } from './set-aside.ts';
import { storeBatch, type Verdict } from './store-batch.ts';

/** Batches of one lane under way at once. A node always goes by the same one, so its messages keep their order. */
const SHARDS = 2;
const MAX_BATCH_MESSAGES = 1000;
/** A fresh reading waits for at most one commit of its node's past: that one is to be short. */
const MAX_BATCH_SAMPLES = 8000;
/** Messages a second of one node that go by the live lane. */
const LIVE_PER_SECOND = 50;
const MAX_WAITING_BYTES = 128 * 1024 * 1024;
const ACK_GAP_MS = 50;

/** The steps of a batch on its way in. `in-statement`: it was handed to the store and has not come back. */
export const receiveSteps = [
  'before-parse',
  'after-parse',
  'in-statement',
  'after-commit',
  'after-ack',
] as const;
export type ReceiveStep = (typeof receiveSteps)[number];

export interface ReceiverDeps<Decoded> {
  /** Bytes to records, or the first thing that is wrong with them. Pure. */
  readonly decode: (packet: Packet) => Result<Decoded, MessageFault>;
  /** Records to dated, checked samples. Pure. */
  readonly resolve: (
    decoded: Decoded,
    receivedAtMs: number,
  ) => Result<AcceptedMessage, MessageFault>;
  readonly accept: Accept;
  /** The place of a message that was not understood, where its bytes still tell it. Pure. */
  readonly salvagePlace?: (packet: Packet) => MessagePlace | undefined;
  /** Given messages of one node at a time. */
  readonly quarantine: KeepAside;
  /** Tells a node that everything of that boot up to this place is committed. Called after the commit only. */
  readonly sendAck: (node: NodeName, place: MessagePlace) => void;
  /** A node has news by that lane. Called once for each node and lane of a batch, not for duplicates. */
  readonly onStored: (nodeId: NodeId, lane: Lane) => void;
  readonly clock: { readonly now: () => number };
  /** Told of what `sendAck` or `onStored` throw, which undoes no commit. */
  readonly onTrouble?: (cause: unknown) => void;
  /** Told of each step as it is passed: where a test of faults lets the process die. */
  readonly onStep?: (step: ReceiveStep) => void;
  /** Live messages of one node a second; what is above it goes by the backlog lane. Default 50. */
  readonly livePerSecond?: number;
  readonly maxBatchMessages?: number;
  readonly maxBatchSamples?: number;
  readonly maxWaitingBytes?: number;
}

/** Counted since the start, and what waits now. */
export interface ReceiverFigures {
  readonly stored: number;
  readonly duplicates: number;
  readonly quarantined: number;
  /** Of the stored: above their node's quota, and therefore by the backlog lane. */
  readonly overQuota: number;
  /** Handed back unacknowledged. */
  readonly putOff: number;
  readonly batches: number;
  /** Packets that are neither stored nor quarantined yet. */
  readonly waiting: number;
  /** How long the oldest of them has waited. */
  readonly oldestWaitMs: number;
}

export interface Receiver {
  /**
   * Takes a packet to the store. Resolves when it is committed (stored, seen to be stored already, or quarantined): then
   * it may be acknowledged.
   *
   * @param from the node whose credentials brought it, where that is known: it may speak for no other
   * @throws RetryLater when it is neither: it must not be acknowledged
   */
  readonly receive: (packet: Packet, from?: NodeName) => Promise<void>;
  /** Resolves when nothing waits any more and every ack is sent. */
  readonly idle: () => Promise<void>;
  readonly figures: () => ReceiverFigures;
}

interface Waiting {
  readonly packet: Packet;
  readonly node: NodeName;
  readonly done: () => void;
  readonly putOff: (cause: RetryLater) => void;
}

type Ready = Waiting & { readonly message: AcceptedMessage };

/**
 * Joins packets that come at the same time in one statement and one commit. While a batch is under way the next one
 * gathers; how large it grows is decided by the load and not by a timer, so a single packet waits for nobody.
 */
export function createReceiver<Decoded>(deps: ReceiverDeps<Decoded>): Receiver {
  const { maxBatchMessages = MAX_BATCH_MESSAGES, maxBatchSamples = MAX_BATCH_SAMPLES } = deps;
  const { maxWaitingBytes = MAX_WAITING_BYTES, onTrouble = () => undefined } = deps;
  const step = deps.onStep ?? (() => undefined);
  const turns = createLaneTurns();
  const quota = createLiveQuota(deps.livePerSecond ?? LIVE_PER_SECOND);
  const limits = { messages: maxBatchMessages, samples: maxBatchSamples };
  const pumpsOf = (lane: Lane): readonly BatchPump<Waiting>[] =>
    Array.from({ length: SHARDS }, () =>
      createBatchPump({
        lane,
        turns,
        limits,
        prepare,
        store: (batch) => commit(batch).catch(onTrouble),
      }),
    );
  const pumps = { live: pumpsOf('live'), backlog: pumpsOf('backlog') };
  const sendAck: typeof deps.sendAck = (node, place) => {
    deps.sendAck(node, place);
    step('after-ack');
  };
  const acks = createAckGatherer({ send: sendAck, gapMs: ACK_GAP_MS, onTrouble });
  const keepAside = createSetAside(deps.quarantine);
  const unsettled = new Set<{ readonly sinceMs: number }>();
  const onIdle: (() => void)[] = [];
  const count = { stored: 0, duplicates: 0, quarantined: 0, putOff: 0, overQuota: 0, batches: 0 };
  let waitingBytes = 0;

  async function quarantine(rejected: Rejected): Promise<void> {
    let ack: MessagePlace | undefined;
    try {
      ack = await keepAside(rejected);
    } catch (cause) {
      throw new RetryLater('a message could be neither stored nor quarantined', cause);
    }
    count.quarantined += 1;
    if (ack !== undefined && rejected.node !== undefined) acks.add(rejected.node, ack);
  }

  /** Not awaited by the batch: its good neighbours do not wait for a bad message. */
  function setAside({ packet, node, done, putOff }: Waiting, fault: MessageFault): void {
    const place = placeOf(packet);
    const rejected: Rejected = { packet, node, fault };
    quarantine(place === undefined ? rejected : { ...rejected, place }).then(done, putOff);
  }

  /** Reading what could not be read may fail as well: then there is no place. */
  function placeOf(packet: Packet): MessagePlace | undefined {
    try {
      return deps.salvagePlace?.(packet);
    } catch {
      return undefined;
    }
  }

  function prepare(waiting: Waiting): Ready | undefined {
    step('before-parse');
    const dated = read(deps, waiting.packet);
    if (dated.ok) return { ...waiting, message: dated.value };
    setAside(waiting, dated.fault);
    return undefined;
  }

  /** The statement is on its way when the step is told. */
  const accept: Accept = (messages) => {
    const outcomes = deps.accept(messages);
    step('in-statement');
    return outcomes;
  };

  async function commit(batch: readonly Ready[]): Promise<void> {
    count.batches += 1;
    step('after-parse');
    const news = new Map<string, readonly [NodeId, Lane]>();
    await storeBatch(batch, accept, (ready, verdict) => {
      if (verdict.kind === 'settled') step('after-commit');
      settle(ready, verdict);
      if (verdict.kind !== 'settled' || verdict.outcome.kind !== 'stored') return;
      const { nodeId } = verdict.outcome;
      news.set(`${nodeId} ${ready.message.lane}`, [nodeId, ready.message.lane]);
    });
    for (const [nodeId, lane] of news.values()) {
      try {
        deps.onStored(nodeId, lane);
      } catch (cause) {
        onTrouble(cause);
      }
    }
  }

  function settle(ready: Ready, verdict: Verdict): void {
    if (verdict.kind === 'later') {
      return ready.putOff(
        new RetryLater(`the store takes no messages now (${say(verdict.cause)})`, verdict.cause),
      );
    }
    if (verdict.kind === 'refused') return setAside(ready, storeRefused(verdict.cause));
    settleOutcome(ready, verdict.outcome);
  }

  function settleOutcome(ready: Ready, outcome: AcceptOutcome): void {
    if (outcome.kind === 'unknown-node') return setAside(ready, nodeUnknown(ready.node));
    count[outcome.kind === 'stored' ? 'stored' : 'duplicates'] += 1;
    if (outcome.ack !== undefined) acks.add(ready.node, outcome.ack);
    ready.done();
  }

  function enqueue(packet: Packet, node: NodeName, kind: UpKind): Promise<void> {
    const fresh = kind !== 'backlog';
    const admitted = fresh && quota.admits(node, deps.clock.now());
    if (fresh && !admitted) count.overQuota += 1;
    return new Promise((done, putOff) => {
      const pump = pumps[admitted ? 'live' : 'backlog'][shardOf(node)] as BatchPump<Waiting>;
      pump.push(node, { packet, node, done, putOff });
    });
  }

  function take(packet: Packet, from: NodeName | undefined): Promise<void> {
    const topic = parseTopic(packet.topic);
    if (topic === undefined) {
      return quarantine({
        packet,
        fault: topicUnknown,
        ...(from === undefined ? {} : { node: from }),
      });
    }
    const { node, kind } = topic;
    if (from !== undefined && from !== node) {
      return quarantine({ packet, node: from, fault: topicOfAnother(from, node) });
    }
    // An empty retained message is how MQTT forgets one (3.1.1 §3.3.1.3): there is nothing in it to store.
    if (kind === 'state' && packet.payload.length === 0) return Promise.resolve();
    // What the broker had kept came once when it was new. Its relative times would be taken for now: a node that died in
    // spring would seem to have just said hello.
    if (packet.retained === true) return Promise.resolve();
    return enqueue(packet, node, kind);
  }

  function receive(packet: Packet, from?: NodeName): Promise<void> {
    const bytes = packet.payload.length;
    if (waitingBytes + bytes > maxWaitingBytes) {
      count.putOff += 1;
      return Promise.reject(
        new RetryLater('more messages wait for the store than there is room for'),
      );
    }
    waitingBytes += bytes;
    const entry = { sinceMs: deps.clock.now() };
    unsettled.add(entry);
    const forget = () => {
      waitingBytes -= bytes;
      unsettled.delete(entry);
      if (unsettled.size > 0) return;
      for (const resolve of onIdle.splice(0)) resolve();
    };
    return take(packet, from).then(forget, (cause: unknown) => {
      count.putOff += 1;
      forget();
      throw cause;
    });
  }

  return {
    receive,
    async idle() {
      if (unsettled.size > 0) await new Promise<void>((resolve) => onIdle.push(resolve));
      acks.flush();
    },
    figures() {
      const [oldest] = unsettled;
      const oldestWaitMs = oldest === undefined ? 0 : deps.clock.now() - oldest.sinceMs;
      return { ...count, waiting: unsettled.size, oldestWaitMs };
    },
  };
}

/** Bytes to dated samples; even a bug in reading makes one message bad and not its neighbours. */
function read<Decoded>(
  { decode, resolve }: Pick<ReceiverDeps<Decoded>, 'decode' | 'resolve'>,
  packet: Packet,
): Result<AcceptedMessage, MessageFault> {
  try {
    const decoded = decode(packet);
    return decoded.ok ? resolve(decoded.value, packet.receivedAtMs) : decoded;
  } catch (cause) {
    return failed(readFailed(cause));
  }
}

/** Spreads nodes over the shards; any hash does (this is FNV-1a, 32 bit). */
function shardOf(node: NodeName): number {
  let hash = 0x811c9dc5;
  for (let i = 0; i < node.length; i += 1) {
    hash = Math.imul(hash ^ node.charCodeAt(i), 0x01000193);
  }
  return (hash >>> 0) % SHARDS;
}
