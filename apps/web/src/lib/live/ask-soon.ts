import { SECOND_MS } from '@duskline/domain';
import { askAgain } from './ask-again.ts';

/** Several changes in one breath, as the visits of a round, are asked for once. */
const SOON_MS = SECOND_MS;

/** Asks again for what a page shows, soon: as often as it is told, once. Each page stops it when it goes. */
export function askSoon(key: `duskline:${string}`, waitMs = SOON_MS) {
  let waiting: ReturnType<typeof setTimeout> | undefined;
  return {
    ask: (): void => {
      waiting ??= setTimeout(() => {
        waiting = undefined;
        void askAgain(key);
      }, waitMs);
    },
    stop: (): void => {
      clearTimeout(waiting);
    },
  };
}
