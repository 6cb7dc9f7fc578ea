import type { AcceptedMessage } from '@duskline/domain';
import { setTimeout as sleep } from 'node:timers/promises';
import type { Accept, AcceptOutcome } from './accept-outcome.ts';
import { blameFor } from './blame.ts';

const ATTEMPTS = 4;
const PAUSE_MS = 20;

/** What came of one message of a batch. */
export type Verdict =
  | { readonly kind: 'settled'; readonly outcome: AcceptOutcome }
  /** The store refuses this very message; it stored its neighbours. */
  | { readonly kind: 'refused'; readonly cause: unknown }
  /** The store takes nothing at the moment. */
  | { readonly kind: 'later'; readonly cause: unknown };

/** Something to be stored, with whatever its owner hangs on it. */
export interface Storable {
  readonly message: AcceptedMessage;
}

/**
 * Stores a batch in one statement. When one message makes the statement fail, the batch is halved until that message
 * stands alone: its neighbours are stored, it is refused.
 *
 * @param onVerdict told of each message as soon as it is known what became of it, in the order of the batch
 */
export async function storeBatch<T extends Storable>(
  batch: readonly T[],
  accept: Accept,
  onVerdict: (item: T, verdict: Verdict) => void,
): Promise<void> {
  const tell = (verdict: Verdict) => batch.forEach((item) => onVerdict(item, verdict));
  let outcomes: readonly AcceptOutcome[];
  try {
    outcomes = await acceptPatiently(batch, accept);
  } catch (cause) {
    if (blameFor(cause) !== 'message') return tell({ kind: 'later', cause });
    if (batch.length === 1) return tell({ kind: 'refused', cause });
    const middle = Math.ceil(batch.length / 2);
    await storeBatch(batch.slice(0, middle), accept, onVerdict);
    await storeBatch(batch.slice(middle), accept, onVerdict);
    return;
  }
  batch.forEach((item, i) => {
    const outcome = outcomes[i];
    if (outcome !== undefined) return onVerdict(item, { kind: 'settled', outcome });
    const cause = new Error(
      `the store answered for ${outcomes.length} of ${batch.length} messages`,
    );
    onVerdict(item, { kind: 'later', cause });
  });
}

/** Again after a breath when only the moment was bad: the statement is idempotent. */
async function acceptPatiently(
  batch: readonly Storable[],
  accept: Accept,
): Promise<readonly AcceptOutcome[]> {
  const messages = batch.map(({ message }) => message);
  for (let attempt = 1; ; attempt += 1) {
    try {
      return await accept(messages);
    } catch (cause) {
      if (attempt === ATTEMPTS || blameFor(cause) !== 'moment') throw cause;
      await sleep(PAUSE_MS * attempt);
    }
  }
}
