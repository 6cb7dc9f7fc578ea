/** One experiment with one broker. */
export interface Turn {
  /**
   * `alone`: it measures the machine, so nothing else may run. `waits`: it leaves most of the machine to others. `calm`: it
   * times a few moments, so that beside it only what waits may run.
   */
  readonly place: 'any' | 'waits' | 'calm' | 'alone';
  readonly run: () => Promise<void>;
}

/** What mostly waits does so two at a time: one after the other it would outlast everything else. */
const LANES_OF_WAITING = 2;

/**
 * Runs turns in so many lanes, each lane taking the next when it is free, and what mostly waits in two more beside them. When the
 * lanes are done the calm ones follow, one after the other, and last those that measure the machine. With one lane nothing runs
 * beside anything.
 */
export async function sideBySide(turns: readonly Turn[], lanes: number): Promise<void> {
  const isBeside = ({ place }: Turn): boolean => lanes > 1 && place === 'waits';
  const isCalm = ({ place }: Turn): boolean => lanes > 1 && place === 'calm';
  const waiting = turns.filter(
    (turn) => turn.place !== 'alone' && !isBeside(turn) && !isCalm(turn),
  );
  const beside = turns.filter(isBeside);
  const calm = turns.filter(isCalm);
  const lane = async (list: Turn[]): Promise<void> => {
    for (let next = list.shift(); next !== undefined; next = list.shift()) await next.run();
  };
  const inLanes = async (list: Turn[], count: number): Promise<void> => {
    await Promise.all(Array.from({ length: count }, () => lane(list)));
  };
  await Promise.all([
    inLanes(waiting, lanes).then(() => lane(calm)),
    inLanes(beside, LANES_OF_WAITING),
  ]);
  for (const { place, run } of turns) if (place === 'alone') await run();
}
