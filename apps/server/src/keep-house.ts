import { HOUR_MS, MINUTE_MS } from '@duskline/domain';
import type { Store } from '@duskline/store';
import type { Logger } from 'pino';
import { lookAtNeighbours } from './look-at-neighbours.ts';

const EVERY_MS = HOUR_MS;
const LEASE = 'housekeeping';

/**
 * Forgets once an hour what nobody needs any more, and holds the last whole day of each node against its neighbours'. Of several servers one does it: who has the lease.
 *
 * @returns stops it
 */
export function keepHouse(options: {
  readonly store: Pick<Store, 'housekeeping' | 'leases' | 'dayMeans' | 'qualityLimits'>;
  readonly holder: string;
  readonly log: Logger;
  readonly now: () => number;
}): () => void {
  const { store, holder, log, now } = options;

  async function clean(): Promise<void> {
    if ((await store.leases.take(LEASE, holder, EVERY_MS / 2)) === undefined) return;
    const gone = await store.housekeeping.forget(now());
    log.debug(gone, 'Forgot what nobody needs any more.');
    await lookAtNeighbours(store, now());
  }

  const tick = () => {
    clean().catch((cause: unknown) =>
      log.warn(
        { cause },
        'The hourly round of the house could not be finished; trying again in an hour.',
      ),
    );
  };
  const first = setTimeout(tick, MINUTE_MS);
  const timer = setInterval(tick, EVERY_MS);
  return () => {
    clearTimeout(first);
    clearInterval(timer);
  };
}
