const TIME_TOLERANCE_MS = 250;

/**
 * Where a function changes sign, by false position (Illinois form), which the smooth curve of the sun's height meets in a few steps.
 *
 * @param valueAt  continuous function of Unix ms
 * @returns Unix ms, within a quarter second; undefined when both ends lie on one side
 */
export function crossingMs(
  valueAt: (atMs: number) => number,
  fromMs: number,
  toMs: number,
): number | undefined {
  let lowMs = fromMs;
  let highMs = toMs;
  let low = valueAt(lowMs);
  let high = valueAt(highMs);
  if (low > 0 === high > 0) return undefined;
  let previousMs = lowMs;
  for (let round = 0; round < 60; round += 1) {
    const middleMs = highMs - (high * (highMs - lowMs)) / (high - low);
    const middle = valueAt(middleMs);
    if (middle > 0 === high > 0) {
      low /= 2;
    } else {
      lowMs = highMs;
      low = high;
    }
    highMs = middleMs;
    high = middle;
    if (middle === 0 || Math.abs(middleMs - previousMs) < TIME_TOLERANCE_MS) return middleMs;
    previousMs = middleMs;
  }
  return highMs;
}
