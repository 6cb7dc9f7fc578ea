import { MINUTE_MS, SECOND_MS } from '@duskline/domain';
import type { Store } from '@duskline/store';
import type { Logger } from 'pino';
import { judgeVisits } from './judge-visits.ts';

const FIRST_MS = 30 * SECOND_MS;
const EVERY_MS = 10 * MINUTE_MS;

/** Looks every ten minutes for visits whose verdict is due. Any number of servers may: a verdict is kept once. */
export function startVisitJudge(
  store: Store,
  { log, now }: { readonly log: Logger; readonly now: () => number },
): { readonly stop: () => Promise<void> } {
  const startedAtMs = now();
  let running = Promise.resolve();
  let timer: NodeJS.Timeout;
  const look = async (): Promise<void> => {
    try {
      const given = await judgeVisits(store, now(), startedAtMs);
      if (given > 0) log.info({ given }, 'visits have their verdicts');
    } catch (cause) {
      log.warn({ cause }, 'visits could not be judged; the next look is in ten minutes');
    }
  };
  const after = (waitMs: number): void => {
    timer = setTimeout(() => {
      running = look().then(() => {
        after(EVERY_MS);
      });
    }, waitMs);
    timer.unref();
  };
  after(FIRST_MS);
  return {
    async stop() {
      clearTimeout(timer);
      await running;
      clearTimeout(timer);
    },
  };
}
