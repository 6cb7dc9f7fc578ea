import { MINUTE_MS } from '@duskline/domain';
import { shownTopic } from './access-rules.ts';
import type { BrokerLog } from './broker-log.ts';
import type { Refusal, RefusalCode } from './refusal.ts';

const MAX_REMEMBERED = 10_000;

export interface RefusalLedger {
  /** Counts a refusal, tells whoever listens, and logs the first of its kind in each minute. */
  readonly note: (refusal: Refusal) => void;
  readonly counts: () => Readonly<Partial<Record<RefusalCode, number>>>;
}

/**
 * Counts every refusal and logs it in plain words, but not a thousand times: a node with an old secret in a drawer
 * must not fill the disk with its attempts.
 *
 * @param options.onRefused told of every refusal, logged or not; what it throws is logged and goes no further
 */
export function createRefusalLedger(options: {
  readonly log: BrokerLog;
  readonly now: () => number;
  readonly onRefused?: (refusal: Refusal) => void;
}): RefusalLedger {
  const { log, now, onRefused } = options;
  const counts: Partial<Record<RefusalCode, number>> = {};
  const lastLogged = new Map<string, { atMs: number; unsaid: number }>();

  function logOncePerMinute(refusal: Refusal): void {
    const key = `${refusal.code} ${refusal.node ?? refusal.address ?? ''}`;
    const last = lastLogged.get(key);
    if (last !== undefined && now() - last.atMs < MINUTE_MS) {
      last.unsaid += 1;
      return;
    }
    if (lastLogged.size >= MAX_REMEMBERED) lastLogged.clear();
    lastLogged.set(key, { atMs: now(), unsaid: 0 });
    const { code, reason, node, topic, bytes, address } = refusal;
    const facts = { code, node, bytes, address, unsaidBefore: last?.unsaid ?? 0 };
    log.warn(topic === undefined ? facts : { ...facts, topic: shownTopic(topic) }, reason);
  }

  function note(refusal: Refusal): void {
    counts[refusal.code] = (counts[refusal.code] ?? 0) + 1;
    logOncePerMinute(refusal);
    try {
      onRefused?.(refusal);
    } catch (cause) {
      log.error({ cause, code: refusal.code }, 'A refusal could not be passed on.');
    }
  }

  return { note, counts: () => ({ ...counts }) };
}
