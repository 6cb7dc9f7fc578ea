/** One experiment with one broker. */
export interface Turn {
  /** `alone`: it measures the machine, so nothing else may run. `waits`: it leaves most of the machine to others. */
  readonly place: 'any' | 'waits' | 'alone';
  readonly run: () => Promise<void>;
}

/**
 * Runs turns in so many lanes, each lane taking the next when it is free, and what mostly waits in one more beside them. Those
 * that measure the machine come last, one after the other. With one lane nothing runs beside anything.
 */
export async function sideBySide(turns: readonly Turn[], lanes: number): Promise<void> {
  const isBeside = ({ place }: Turn): boolean => lanes > 1 && place === 'waits';
  const waiting = turns.filter((turn) => turn.place !== 'alone' && !isBeside(turn));
  const beside = turns.filter(isBeside);
  const lane = async (list: Turn[]): Promise<void> => {
    for (let next = list.shift(); next !== undefined; next = list.shift()) await next.run();
  };
  await Promise.all([...Array.from({ length: lanes }, () => lane(waiting)), lane(beside)]);
  for (const { place, run } of turns) if (place === 'alone') await run();
}
