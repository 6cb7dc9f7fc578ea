/** Live batches that may pass while one of the backlog waits, so that a lively fleet cannot keep the past out for ever. */
const LIVE_BEFORE_BACKLOG = 4;

export interface LaneTurns {
  /** Live messages wait. They never wait for a turn. */
  readonly liveBegins: () => void;
  /** One live batch is stored. */
  readonly livePasses: () => void;
  /** No live message waits any more. */
  readonly liveEnds: () => void;
  /** Resolves when the backlog may have a batch stored: while nothing live waits, or after four live batches. */
  readonly backlogTurn: () => Promise<void>;
}

/** Who goes first: fresh batches at once, the past between them. */
export function createLaneTurns(): LaneTurns {
  let lively = 0;
  let waiting: { passed: number; readonly go: () => void }[] = [];

  function release(): void {
    const due = waiting.filter(({ passed }) => lively === 0 || passed >= LIVE_BEFORE_BACKLOG);
    waiting = waiting.filter((one) => !due.includes(one));
    for (const { go } of due) go();
  }

  return {
    liveBegins() {
      lively += 1;
    },
    livePasses() {
      for (const one of waiting) one.passed += 1;
      release();
    },
    liveEnds() {
      lively -= 1;
      release();
    },
    backlogTurn() {
      if (lively === 0) return Promise.resolve();
      return new Promise((go) => waiting.push({ passed: 0, go }));
    },
  };
}
