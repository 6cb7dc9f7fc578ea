import type { AcceptedMessage, Lane } from '@duskline/domain';
import { setImmediate as nextTurn } from 'node:timers/promises';
import { FairQueue } from './fair-queue.ts';
import type { LaneTurns } from './lane-turns.ts';

/** Decoded between two looks at the clock. */
const DECODE_AT_ONCE = 8;
/** Decoding goes on for so long; then the event loop gets its turn. */
const DECODE_FOR_MS = 6;

export interface BatchLimits {
  readonly messages: number;
  readonly samples: number;
}

export interface BatchPump<Waiting> {
  readonly push: (node: string, waiting: Waiting) => void;
}

/**
 * Makes batches of what waits in one queue and has them stored, one after the other. While a batch is under way the next
 * one gathers; how large it grows is decided by the load and not by a timer, so a single message waits for nobody.
 */
export function createBatchPump<
  Waiting,
  Ready extends { readonly message: AcceptedMessage },
>(options: {
  readonly lane: Lane;
  readonly turns: LaneTurns;
  readonly limits: BatchLimits;
  /** @returns undefined when the message was set aside */
  readonly prepare: (waiting: Waiting) => Ready | undefined;
  /** Must not reject. */
  readonly store: (batch: readonly Ready[]) => Promise<void>;
}): BatchPump<Waiting> {
  const { lane, turns, limits, prepare, store } = options;
  const queue = new FairQueue<Waiting>();
  let busy = false;

  async function gather(): Promise<Ready[]> {
    const batch: Ready[] = [];
    let samples = 0;
    let turnAtMs = performance.now();
    while (queue.size > 0 && batch.length < limits.messages && samples < limits.samples) {
      for (const waiting of queue.take(Math.min(DECODE_AT_ONCE, limits.messages - batch.length))) {
        const ready = prepare(waiting);
        if (ready === undefined) continue;
        batch.push(ready);
        samples += ready.message.samples.length;
      }
      if (queue.size > 0 && performance.now() - turnAtMs < DECODE_FOR_MS) continue;
      await nextTurn(); // what comes meanwhile joins the batch
      turnAtMs = performance.now();
    }
    return batch;
  }

  async function drain(): Promise<void> {
    if (busy) return;
    busy = true;
    if (lane === 'live') turns.liveBegins();
    await nextTurn(); // what comes with the same turn of the event loop joins the batch
    while (queue.size > 0) {
      if (lane === 'backlog') await turns.backlogTurn();
      const batch = await gather();
      if (batch.length > 0) await store(batch);
      if (lane === 'live') turns.livePasses();
    }
    if (lane === 'live') turns.liveEnds();
    busy = false;
  }

  return {
    push(node, waiting) {
      queue.push(node, waiting);
      void drain();
    },
  };
}
