/** One experiment with one broker. */
export interface Turn {
  /** It measures the machine: nothing else may run meanwhile. */
  readonly isAlone: boolean;
  readonly run: () => Promise<void>;
}

/**
 * Runs turns in so many lanes, each lane taking the next when it is free: most of an experiment is waiting for something to
 * come back. Those that measure the machine come last, one after the other.
 */
export async function sideBySide(turns: readonly Turn[], lanes: number): Promise<void> {
  const waiting = turns.filter(({ isAlone }) => !isAlone);
  const lane = async (): Promise<void> => {
    for (let next = waiting.shift(); next !== undefined; next = waiting.shift()) await next.run();
  };
  await Promise.all(Array.from({ length: lanes }, lane));
  for (const { isAlone, run } of turns) if (isAlone) await run();
}
