/** The one clock of the program: everything below is told the time. */
export interface Clock {
  readonly now: () => number;
}

export const systemClock: Clock = { now: () => Date.now() };
