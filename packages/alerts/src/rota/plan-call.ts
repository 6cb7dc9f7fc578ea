import { MINUTE_MS, type AccountId, type Person, type Priority } from '@duskline/domain';
import { afterWaking, nextWakingMs } from './quiet-hours.ts';

/** What is to be done about an alert that is due. */
export interface CallPlan {
  /** Told now (or when their quiet hours are over); nobody: it waits for the morning letters. */
  readonly to: readonly { readonly person: Person; readonly atMs: number }[];
  /** When to look again, if nobody has taken it by then. */
  readonly nextCallAtMs?: number;
}

/**
 * How long an answer is waited for before the next in the chain is told. Common practice, no source; so that the coordinator
 * has been told when a P1 counts as untaken (15 minutes) and a P2 (4 waking hours).
 */
export const ANSWER_WITHIN_MS: Readonly<Record<'P1' | 'P2', number>> = {
  P1: 5 * MINUTE_MS,
  P2: 120 * MINUTE_MS,
};

/**
 * The next step of an escalation. P1 wakes; P2 waits for the end of quiet hours, and for the answer only waking hours count;
 * P3 waits for the morning letter.
 *
 * @param chain see `callChain`
 * @param told  who was told before
 */
export function planCall(
  chain: readonly Person[],
  told: readonly AccountId[],
  about: { readonly priority: Priority; readonly nowMs: number },
): CallPlan {
  const { priority, nowMs } = about;
  if (priority === 'P3') return { to: [] };
  const next = chain.find(({ id }) => !told.includes(id));
  if (next === undefined) return { to: [] };
  const atMs = priority === 'P1' ? nowMs : nextWakingMs(next, nowMs);
  const more = chain.some(({ id }) => id !== next.id && !told.includes(id));
  if (!more) return { to: [{ person: next, atMs }] };
  return {
    to: [{ person: next, atMs }],
    nextCallAtMs:
      priority === 'P1'
        ? nowMs + ANSWER_WITHIN_MS.P1
        : afterWaking(next, atMs, ANSWER_WITHIN_MS.P2),
  };
}
