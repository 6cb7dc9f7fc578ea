import { MINUTE_MS } from '@duskline/domain';

/** Who tries, and from where. `account` is the address as typed, in small letters. */
export interface SignInAttempt {
  readonly account: string;
  readonly ip: string;
}

/** Counts attempts to sign in. A store that shares the counts between servers can stand in for the one here. */
export interface SignInThrottle {
  /** Counts the attempt. @returns 0 when it may go on, else how long to wait */
  admit(attempt: SignInAttempt, nowMs: number): Promise<number>;
  /** It succeeded: forget what was counted against this account from there. */
  forgive(attempt: SignInAttempt): Promise<void>;
}

/** Attempts a minute (OWASP ASVS 5.0, 6.3.1 asks for limits; the figures are our choice). Never a lock-out. */
const PER_ACCOUNT_AND_IP = 5;
const PER_IP = 20;
const IN_ALL = 300;

/** More than this many keys at once are an attack: the oldest are forgotten. */
const MOST_KEYS = 10_000;

/** The throttle of one process: a sliding minute for each key. */
export function createSignInThrottle(): SignInThrottle {
  const attempts = new Map<string, readonly number[]>();

  const recent = (key: string, nowMs: number): readonly number[] =>
    (attempts.get(key) ?? []).filter((atMs) => atMs > nowMs - MINUTE_MS);

  const keep = (key: string, times: readonly number[]): void => {
    attempts.delete(key);
    attempts.set(key, times);
    const [oldest] = attempts.keys();
    if (attempts.size > MOST_KEYS && oldest !== undefined) attempts.delete(oldest);
  };

  return {
    async admit(attempt, nowMs) {
      const limits = [
        [pairKey(attempt), PER_ACCOUNT_AND_IP],
        [`ip ${attempt.ip}`, PER_IP],
        ['all', IN_ALL],
      ] as const;
      const waits = limits.map(([key, most]) => waitMs(recent(key, nowMs), most, nowMs));
      const wait = Math.max(...waits);
      if (wait > 0) return wait;
      for (const [key] of limits) keep(key, [...recent(key, nowMs), nowMs]);
      return 0;
    },
    async forgive(attempt) {
      attempts.delete(pairKey(attempt));
    },
  };
}

const pairKey = ({ account, ip }: SignInAttempt): string => `pair ${ip} ${account}`;

/** Until the oldest of the last `most` attempts is a minute old. */
function waitMs(times: readonly number[], most: number, nowMs: number): number {
  const oldest = times[times.length - most];
  return oldest === undefined ? 0 : oldest + MINUTE_MS - nowMs;
}
