import { setTimeout as sleep } from 'node:timers/promises';

export interface WaitOptions {
  /** Default 10 000. */
  readonly withinMs?: number;
  /** Pause between two looks; default 25. */
  readonly everyMs?: number;
}

/**
 * Looks again and again until there is something to see.
 *
 * @param what a noun phrase for the error, as "an alert of Rushy Sluice".
 * @param look returns undefined or false while it is not there yet. What it throws counts as not yet and is told when
 *   the time is over.
 * @returns the first other value.
 * @throws Error "Waited 10 s in vain for …".
 */
export async function waitFor<T>(
  what: string,
  look: () => T | undefined | false | Promise<T | undefined | false>,
  options: WaitOptions = {},
): Promise<T> {
  const withinMs = options.withinMs ?? 10_000;
  const deadline = Date.now() + withinMs;
  let lastError: unknown;
  for (;;) {
    try {
      const seen = await look();
      if (seen !== undefined && seen !== false) return seen;
      lastError = undefined;
    } catch (error) {
      lastError = error;
    }
    if (Date.now() >= deadline) break;
    await sleep(options.everyMs ?? 25);
  }
  const lastWords = lastError instanceof Error ? ` (at last: ${lastError.message})` : '';
  throw new Error(`Waited ${withinMs / 1000} s in vain for ${what}${lastWords}.`, {
    cause: lastError,
  });
}
