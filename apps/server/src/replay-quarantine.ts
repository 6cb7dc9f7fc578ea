import {
  failed,
  ok,
  type AcceptedMessage,
  type MessageFault,
  type MessagePlace,
  type NodeId,
  type NodeName,
  type Packet,
  type Result,
} from '@duskline/domain';
import { storeBatch, storeRefused, nodeUnknown } from '@duskline/intake';
import type { QuarantineEntry, QuarantineFilter, Store } from '@duskline/store';
import { decodeMessage, parseTopic, resolveMessage } from '@duskline/wire';
import { inflate } from './inflate.ts';

export interface ReplayOutcome {
  readonly takenIn: number;
  readonly alreadyThere: number;
  readonly stillRefused: number;
  /** There are more than one call tries. */
  readonly more: boolean;
}

export interface ReplayDeps {
  readonly store: Pick<Store, 'quarantine' | 'samples'>;
  readonly now: () => number;
  readonly onNews: (nodeId: NodeId) => void;
  readonly sendAck: (node: NodeName, place: MessagePlace) => void;
}

const PAGE = 200;
/** In one call, so that whoever asked is answered within seconds. */
const TRIED_AT_MOST = 4000;

interface Ready {
  readonly entry: QuarantineEntry;
  readonly message: AcceptedMessage;
}

/**
 * Tries again what is in quarantine, as if it had come when it first came: relative times are relative to then, and it goes
 * by the backlog lane, because it is the past. Safe to repeat and to interrupt: the ledger and the key of the samples let
 * each reading in once, and an entry is marked only after its commit.
 */
export function createQuarantineReplay({ store, now, onNews, sendAck }: ReplayDeps) {
  return async (filter: QuarantineFilter): Promise<ReplayOutcome> => {
    const count = { takenIn: 0, alreadyThere: 0, stillRefused: 0 };
    const refuse = async (entry: QuarantineEntry, fault: MessageFault): Promise<void> => {
      count.stillRefused += 1;
      await store.quarantine.refusedAgain(entry.id, fault);
    };
    let after: QuarantineEntry | undefined;
    for (let tried = 0; tried < TRIED_AT_MOST; tried += PAGE) {
      const page = await store.quarantine.list(
        { ...filter, waiting: true },
        { limit: PAGE, ...(after === undefined ? {} : { after }) },
      );
      after = page.at(-1);
      const ready: Ready[] = [];
      for (const entry of page) {
        const message = read(entry);
        if (message.ok) ready.push({ entry, message: message.value });
        else await refuse(entry, message.fault);
      }
      for (const settledBefore of [true, false]) {
        await storeReady(
          ready.filter(({ entry }) => entry.settled === settledBefore),
          settledBefore,
        );
      }
      if (page.length < PAGE) return { ...count, more: false };
    }
    return { ...count, more: true };

    async function storeReady(batch: readonly Ready[], settledBefore: boolean): Promise<void> {
      if (batch.length === 0) return;
      const done: string[] = [];
      const refused: (readonly [QuarantineEntry, MessageFault])[] = [];
      let away: unknown;
      await storeBatch(
        batch,
        (messages) => store.samples.accept(messages, { settledBefore }),
        ({ entry, message }, verdict) => {
          if (verdict.kind === 'later') return void (away = verdict.cause);
          if (verdict.kind === 'refused')
            return void refused.push([entry, storeRefused(verdict.cause)]);
          const { outcome } = verdict;
          if (outcome.kind === 'unknown-node')
            return void refused.push([entry, nodeUnknown(message.node)]);
          done.push(entry.id);
          count[outcome.kind === 'stored' ? 'takenIn' : 'alreadyThere'] += 1;
          if (outcome.kind === 'stored') onNews(outcome.nodeId);
          if (outcome.ack !== undefined) sendAck(message.node, outcome.ack);
        },
      );
      await store.quarantine.takenIn(done, now());
      for (const [entry, fault] of refused) await refuse(entry, fault);
      // As it is: the API tells by its code that the database is away.
      if (away instanceof Error) throw away;
    }
  };
}

function read(entry: QuarantineEntry): Result<AcceptedMessage, MessageFault> {
  const { topic, payload, contentType, firstReceivedAtMs } = entry;
  // Whoever sent a message in the name of another is not believed later either.
  if (entry.node !== undefined && parseTopic(topic)?.node !== entry.node)
    return failed(entry.fault);
  const packet: Packet = {
    topic,
    payload,
    receivedAtMs: firstReceivedAtMs,
    ...(contentType === undefined ? {} : { contentType }),
  };
  const decoded = decodeMessage(packet, { inflate });
  if (!decoded.ok) return decoded;
  const resolved = resolveMessage(decoded.value, firstReceivedAtMs);
  return resolved.ok ? ok({ ...resolved.value, lane: 'backlog' }) : resolved;
}
