import { HOUR_MS, MINUTE_MS } from '@duskline/domain';
import type { Store } from '@duskline/store';
import type { Logger } from 'pino';

const EVERY_MS = HOUR_MS;
const LEASE = 'housekeeping';

/**
 * Forgets once an hour what nobody needs any more. Of several servers one does it: who has the lease.
 *
 * @returns stops it
 */
export function keepHouse(options: {
  readonly store: Pick<Store, 'housekeeping' | 'leases'>;
  readonly holder: string;
  readonly log: Logger;
  readonly now: () => number;
}): () => void {
  const { store, holder, log, now } = options;

  async function clean(): Promise<void> {
    if ((await store.leases.take(LEASE, holder, EVERY_MS / 2)) === undefined) return;
    const gone = await store.housekeeping.forget(now());
    log.debug(gone, 'Forgot what nobody needs any more.');
  }

  const tick = () => {
    clean().catch((cause: unknown) =>
      log.warn({ cause }, 'What nobody needs any more could not be forgotten; trying again.'),
    );
  };
  const first = setTimeout(tick, MINUTE_MS);
  const timer = setInterval(tick, EVERY_MS);
  return () => {
    clearTimeout(first);
    clearInterval(timer);
  };
}
