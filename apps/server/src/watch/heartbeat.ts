import { MINUTE_MS } from '@duskline/domain';
import type { Logger } from 'pino';

export interface Heartbeat {
  /** Looks, and pings if all is well. @returns what is not well */
  readonly beat: () => Promise<readonly string[]>;
  readonly stop: () => void;
}

const TIMEOUT_MS = 10_000;

/**
 * Pings an address of the keeper's choice every minute while all is well, so that something outside can notice the silence
 * when Duskline itself is dead. What is not well is not pinged about: the silence is the message.
 */
export function startHeartbeat(options: {
  readonly url: string;
  /** Each says why it is not well; undefined: it is. */
  readonly checks: readonly (() => Promise<string | undefined>)[];
  readonly log: Logger;
  readonly everyMs?: number;
}): Heartbeat {
  const { url, checks, log, everyMs = MINUTE_MS } = options;
  const beat = async () => {
    const faults = (
      await Promise.all(checks.map((check) => check().catch(() => 'a check failed')))
    ).filter((fault) => fault !== undefined);
    if (faults.length > 0) {
      log.warn({ faults }, 'no heartbeat: something is not well');
      return faults;
    }
    try {
      const answer = await fetch(url, {
        signal: AbortSignal.timeout(TIMEOUT_MS),
        redirect: 'manual',
      });
      await answer.body?.cancel();
      if (!answer.ok) log.warn({ status: answer.status }, 'the heartbeat was not taken');
    } catch (cause) {
      // Without the cause: it holds the address, which may be a key.
      log.warn({ error: cause instanceof Error ? cause.name : 'unknown' }, 'no heartbeat got out');
    }
    return [];
  };
  const timer = setInterval(() => void beat(), everyMs);
  timer.unref();
  void beat();
  return { beat, stop: () => clearInterval(timer) };
}
