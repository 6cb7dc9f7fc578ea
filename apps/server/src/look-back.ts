import { HOUR_MS, MINUTE_MS } from '@duskline/domain';
import type { Store } from '@duskline/store';
import type { Logger } from 'pino';
import { gradeOutlooks } from './grade-outlooks.ts';
import { issueHindcasts } from './issue-hindcasts.ts';
import { recalibrateFleet } from './recalibrate-fleet.ts';

export interface LookBack {
  readonly stop: () => Promise<void>;
}

const GRADE_EVERY_MS = 5000;
const HINDCASTS_EVERY_MS = MINUTE_MS;
const RECALIBRATE_EVERY_MS = HOUR_MS;
/** Between two hindcasts: live work has the processor nine parts in ten. */
const REST_MS = 120;
/** While nodes wait to be looked at, hindcasts wait, but not for ever. */
const LONGEST_WAIT_MS = 5000;

/**
 * What looks backward, behind all that is live: grading, hindcasts, recalibration. Nothing here has an order that matters or
 * does harm when it is done twice, so that any number of servers may run it and any of them may die.
 *
 * @param options.isBusy  nodes are waiting to be looked at
 */
export function startLookBack(
  store: Store,
  {
    log,
    now,
    isBusy,
  }: { readonly log: Logger; readonly now: () => number; readonly isBusy: () => boolean },
): LookBack {
  let stopped = false;
  const sleep = async (ms: number): Promise<void> => {
    const untilMs = now() + ms;
    while (!stopped && now() < untilMs)
      await new Promise((resolve) => setTimeout(resolve, Math.min(ms, 100)));
  };
  const pause = async (): Promise<void> => {
    const sinceMs = now();
    await sleep(REST_MS);
    while (!stopped && isBusy() && now() - sinceMs < LONGEST_WAIT_MS) await sleep(REST_MS);
    if (stopped) throw new LookBackStopped();
  };
  const every = async (ms: number, what: string, work: () => Promise<boolean>): Promise<void> => {
    while (!stopped) {
      let hasMore = false;
      try {
        hasMore = await work();
      } catch (cause) {
        if (cause instanceof LookBackStopped) return;
        log.error({ cause }, `${what} failed; it is tried again`);
      }
      await sleep(hasMore ? REST_MS : ms);
    }
  };
  const running = Promise.all([
    every(GRADE_EVERY_MS, 'grading outlooks', async () => (await gradeOutlooks(store, now())) > 0),
    every(HINDCASTS_EVERY_MS, 'issuing hindcasts', async () => {
      await pause();
      return (await issueHindcasts(store, now(), pause)) !== undefined;
    }),
    every(RECALIBRATE_EVERY_MS, 'recalibrating', async () => {
      await recalibrateFleet(store, now());
      return false;
    }),
  ]);
  return {
    async stop() {
      stopped = true;
      await running;
    },
  };
}

/** The server stops: leave everything as it stands. */
class LookBackStopped extends Error {
  override readonly name = 'LookBackStopped';
}
