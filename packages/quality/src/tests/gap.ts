import { PASS, type TestResult } from '../series.ts';

/**
 * Gap test: has the stream been heard within the expected time? It is of a stream at a moment, not of a reading: a backlog
 * is late by design and is not worse for it.
 *
 * @param lastReceivedAtMs undefined: nothing ever came
 * @source QARTOD manuals, test 1 (timing/gap): now − latest > expected gap fails
 */
export function gapTest(
  lastReceivedAtMs: number | undefined,
  {
    nowMs,
    suspectS,
    failS,
  }: { readonly nowMs: number; readonly suspectS: number; readonly failS: number },
): TestResult {
  if (lastReceivedAtMs === undefined) return { flag: 9 };
  const found = (nowMs - lastReceivedAtMs) / 1000;
  if (found > failS) return { flag: 4, found, limit: failS };
  return found > suspectS ? { flag: 3, found, limit: suspectS } : PASS;
}
