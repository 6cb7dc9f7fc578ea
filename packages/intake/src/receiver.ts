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
import { parseTopic } from '@duskline/wire';
import { setImmediate as nextTurn } from 'node:timers/promises';
import type { Accept, AcceptOutcome } from './accept-outcome.ts';
import { createAckGatherer } from './ack-gatherer.ts';
import {
  nodeUnknown,
  readFailed,
  say,
  storeRefused,
  topicOfAnother,
  topicUnknown,
} from './intake-faults.ts';
import { LaneQueue } from './lane-queue.ts';
import { RetryLater } from './retry-later.ts';
import { storeBatch, type Verdict } from './store-batch.ts';
import { limitWork } from './work-limit.ts';

/** Batches under way at once. A node always goes by the same one, so its messages keep their order. */
const SHARDS = 2;
const MAX_BATCH_MESSAGES = 1000;
const MAX_BATCH_SAMPLES = 20_000;
/** Decoded in one go; then the event loop gets its turn. */
const DECODE_AT_ONCE = 64;
const MAX_WAITING_BYTES = 128 * 1024 * 1024;
/** Statements for the quarantine at once: a storm of bad messages leaves connections for the good ones. */
const QUARANTINE_AT_ONCE = 2;
const ACK_GAP_MS = 50;

/** What could not be accepted, to be kept whole. */
export interface Rejected {
  readonly packet: Packet;
  /** Absent when the topic names none. */
  readonly node?: NodeName;
  readonly fault: MessageFault;
}

export interface ReceiverDeps<Decoded> {
  /** Bytes to records, or the first thing that is wrong with them. Pure. */
  readonly decode: (packet: Packet) => Result<Decoded, MessageFault>;
  /** Records to dated, checked samples. Pure. */
  readonly resolve: (
    decoded: Decoded,
    receivedAtMs: number,
  ) => Result<AcceptedMessage, MessageFault>;
  readonly accept: Accept;
  readonly quarantine: (rejected: Rejected) => Promise<void>;
  /** Tells a node that everything of that boot up to this place is committed. Called after the commit only. */
  readonly sendAck: (node: NodeName, place: MessagePlace) => void;
  /** A node has news by that lane. Called once for each node and lane of a batch, not for duplicates. */
  readonly onStored: (nodeId: NodeId, lane: Lane) => void;
  readonly clock: { readonly now: () => number };
  /** Told of what `sendAck` or `onStored` throw, which undoes no commit. */
  readonly onTrouble?: (cause: unknown) => void;
  readonly maxBatchMessages?: number;
  readonly maxBatchSamples?: number;
  readonly maxWaitingBytes?: number;
}

/** Counted since the start, and what waits now. */
export interface ReceiverFigures {
  readonly stored: number;
  readonly duplicates: number;
  readonly quarantined: number;
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

interface Shard {
  readonly queue: LaneQueue<Waiting>;
  busy: boolean;
}

type Ready = Waiting & { readonly message: AcceptedMessage };

/**
 * Joins packets that come at the same time in one statement and one commit. While a batch is under way the next one
 * gathers; how large it grows is decided by the load and not by a timer, so a single packet waits for nobody.
 */
export function createReceiver<Decoded>(deps: ReceiverDeps<Decoded>): Receiver {
  const { maxBatchMessages = MAX_BATCH_MESSAGES, maxBatchSamples = MAX_BATCH_SAMPLES } = deps;
  const { maxWaitingBytes = MAX_WAITING_BYTES, onTrouble = () => undefined } = deps;
  const shards = Array.from({ length: SHARDS }, (): Shard => ({
    queue: new LaneQueue(),
    busy: false,
  }));
  const acks = createAckGatherer({ send: deps.sendAck, gapMs: ACK_GAP_MS, onTrouble });
  const whenQuarantineIsFree = limitWork(QUARANTINE_AT_ONCE);
  const unsettled = new Set<{ readonly sinceMs: number }>();
  const onIdle: (() => void)[] = [];
  const count = { stored: 0, duplicates: 0, quarantined: 0, putOff: 0, batches: 0 };
  let waitingBytes = 0;

  async function quarantine(rejected: Rejected): Promise<void> {
    try {
      await whenQuarantineIsFree(() => deps.quarantine(rejected));
    } catch (cause) {
      throw new RetryLater('a message could be neither stored nor quarantined', cause);
    }
    count.quarantined += 1;
  }

  /** Not awaited by the batch: its good neighbours do not wait for a bad message. */
  function setAside({ packet, node, done, putOff }: Waiting, fault: MessageFault): void {
    quarantine({ packet, node, fault }).then(done, putOff);
  }

  function prepare(waiting: Waiting): Ready | undefined {
    const dated = read(deps, waiting.packet);
    if (dated.ok) return { ...waiting, message: dated.value };
    setAside(waiting, dated.fault);
    return undefined;
  }

  async function gather(queue: LaneQueue<Waiting>): Promise<Ready[]> {
    const batch: Ready[] = [];
    let samples = 0;
    while (queue.size > 0 && batch.length < maxBatchMessages && samples < maxBatchSamples) {
      for (const waiting of queue.take(Math.min(DECODE_AT_ONCE, maxBatchMessages - batch.length))) {
        const ready = prepare(waiting);
        if (ready === undefined) continue;
        batch.push(ready);
        samples += ready.message.samples.length;
      }
      await nextTurn();
    }
    return batch;
  }

  async function commit(batch: readonly Ready[]): Promise<void> {
    count.batches += 1;
    const news = new Map<string, readonly [NodeId, Lane]>();
    await storeBatch(batch, deps.accept, (ready, verdict) => {
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

  async function drain(shard: Shard): Promise<void> {
    if (shard.busy) return;
    shard.busy = true;
    await nextTurn(); // what comes with the same turn of the event loop joins the batch
    while (shard.queue.size > 0) {
      const batch = await gather(shard.queue);
      if (batch.length > 0) await commit(batch).catch(onTrouble);
    }
    shard.busy = false;
  }

  function enqueue(packet: Packet, node: NodeName, lane: Lane): Promise<void> {
    return new Promise((done, putOff) => {
      const shard = shards[shardOf(node)] as Shard;
      shard.queue.push(lane, { packet, node, done, putOff });
      void drain(shard);
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
    return enqueue(packet, node, kind === 'backlog' ? 'backlog' : 'live');
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
