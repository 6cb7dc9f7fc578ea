import { MINUTE_MS } from '@duskline/domain';
import { createHash } from 'node:crypto';

/** Who tries, and from where. `account` is the address as typed, in small letters. */
export interface SignInAttempt {
  readonly account: string;
  readonly ip: string;
}

/** Holds off who tries too often. */
export interface SignInThrottle {
  /** Counts the attempt. @returns 0 when it may go on, else how long to wait */
  admit(attempt: SignInAttempt, nowMs: number): Promise<number>;
  /** It succeeded: forget what was counted against this account from there. */
  forgive(attempt: SignInAttempt): Promise<void>;
}

/** Where attempts are counted: here, or by a store for all servers. Keys are SHA-256 of what they stand for. */
export interface SignInCounts {
  /** Counts one attempt against every key, unless one has had its most within the span. @returns how long to wait */
  admit(
    limits: readonly { readonly key: Uint8Array; readonly most: number }[],
    spanMs: number,
    nowMs: number,
  ): Promise<number>;
  forget(key: Uint8Array): Promise<void>;
}

/** Attempts a minute (OWASP ASVS 5.0, 6.3.1 asks for limits; the figures are our choice). Never a lock-out. */
const PER_ACCOUNT_AND_IP = 5;
const PER_IP = 20;
const IN_ALL = 300;

/** More than this many keys at once are an attack: the oldest are forgotten. */
const MOST_KEYS = 10_000;

/** A sliding minute for each account and address, each address, and all together. */
export function createSignInThrottle(counts: SignInCounts = countsOfThisProcess()): SignInThrottle {
  return {
    admit: (attempt, nowMs) =>
      counts.admit(
        [
          { key: pairKey(attempt), most: PER_ACCOUNT_AND_IP },
          { key: hashed(`ip ${attempt.ip}`), most: PER_IP },
          { key: hashed('all'), most: IN_ALL },
        ],
        MINUTE_MS,
        nowMs,
      ),
    forgive: (attempt) => counts.forget(pairKey(attempt)),
  };
}

function countsOfThisProcess(): SignInCounts {
  const attempts = new Map<string, readonly number[]>();
  const hex = (key: Uint8Array): string => Buffer.from(key).toString('hex');

  const keep = (key: string, times: readonly number[]): void => {
    attempts.delete(key);
    attempts.set(key, times);
    const [oldest] = attempts.keys();
    if (attempts.size > MOST_KEYS && oldest !== undefined) attempts.delete(oldest);
  };

  return {
    async admit(limits, spanMs, nowMs) {
      const recent = (key: Uint8Array): readonly number[] =>
        (attempts.get(hex(key)) ?? []).filter((atMs) => atMs > nowMs - spanMs);
      const waits = limits.map(({ key, most }) => {
        // Until the oldest of the last `most` attempts is a span old.
        const times = recent(key);
        const oldest = times[times.length - most];
        return oldest === undefined ? 0 : oldest + spanMs - nowMs;
      });
      const wait = Math.max(...waits);
      if (wait > 0) return wait;
      for (const { key } of limits) keep(hex(key), [...recent(key), nowMs]);
      return 0;
    },
    async forget(key) {
      attempts.delete(hex(key));
    },
  };
}

const hashed = (text: string): Uint8Array => createHash('sha256').update(text).digest();
const pairKey = ({ account, ip }: SignInAttempt): Uint8Array => hashed(`pair ${ip} ${account}`);
