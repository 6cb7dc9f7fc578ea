import type { NodeId } from '@duskline/domain';
import type { Logger } from 'pino';
import type { Pipeline } from './pipeline.ts';

export interface Schedule {
  /** A node has news: advance it soon. */
  readonly wake: (nodeId: NodeId) => void;
  /** How long ago the last sweep ended, for /readyz. */
  readonly sweepAgeMs: () => number;
  /** Nodes with news wait for a look. */
  readonly busy: () => boolean;
  /** Resolves when nothing woken is waiting or running. */
  readonly quiet: () => Promise<void>;
  readonly stop: () => Promise<void>;
}

const SWEEP_EVERY_MS = 5000;
/** A node that keeps talking is advanced at most this often: its page needs no more, and intake comes first. */
const REST_MS = 900;
/** Nodes advanced at the same time: the database does the waiting, not us. */
const AT_ONCE = 4;

/**
 * When things happen: nodes with news at once (but never one twice at the same time, nor oftener than it needs), everything
 * else in a sweep every few seconds. What a sweep misses the next one finds: the store is the queue.
 */
export function startSchedule(
  pipeline: Pick<Pipeline, 'advance' | 'sweep'>,
  { log, now }: { readonly log: Logger; readonly now: () => number },
): Schedule {
  const woken = new Set<NodeId>();
  const running = new Set<NodeId>();
  const restUntilMs = new Map<NodeId, number>();
  let stopped = false;
  let sweptAtMs = now();
  let sweeping: Promise<void> | undefined;

  const turn = () => {
    for (const nodeId of woken) {
      if (running.size >= AT_ONCE || stopped) return;
      if (running.has(nodeId) || (restUntilMs.get(nodeId) ?? 0) > now()) continue;
      woken.delete(nodeId);
      running.add(nodeId);
      pipeline
        .advance(nodeId)
        .catch((cause: unknown) => log.error({ cause, nodeId }, 'a node could not be advanced'))
        .finally(() => {
          running.delete(nodeId);
          restUntilMs.set(nodeId, now() + REST_MS);
          turn();
        });
    }
  };
  const sweep = async () => {
    try {
      for (const { nodeId, cause } of await pipeline.sweep(() => stopped))
        log.error({ cause, nodeId }, 'a node could not be advanced');
      sweptAtMs = now();
    } catch (cause) {
      log.error({ cause }, 'the sweep failed; it is tried again');
    }
  };
  const turning = setInterval(turn, 100);
  const sweepTimer = setInterval(() => {
    sweeping ??= sweep().finally(() => {
      sweeping = undefined;
    });
  }, SWEEP_EVERY_MS);

  const quiet = async () => {
    while (woken.size > 0 || running.size > 0)
      await new Promise((resolve) => setTimeout(resolve, 50));
  };
  return {
    wake(nodeId) {
      woken.add(nodeId);
    },
    sweepAgeMs: () => now() - sweptAtMs,
    busy: () => woken.size > 0,
    quiet,
    async stop() {
      stopped = true;
      clearInterval(turning);
      clearInterval(sweepTimer);
      await sweeping;
      while (running.size > 0) await new Promise((resolve) => setTimeout(resolve, 20));
    },
  };
}
