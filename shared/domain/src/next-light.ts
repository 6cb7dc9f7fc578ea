/** A stretch of daylight at a site. */
export interface Light {
  readonly fromMs: number;
  readonly untilMs: number;
}

/**
 * When it gets light where it is dark now.
 *
 * @param days    sunrise to sunset at the site, from the day before or today on, in order
 * @param keepMs  light that is kept in hand before sunset: when no more than that is left, it counts as dark
 * @returns undefined while there is light, or where nothing is known of the light to come
 */
export function nextLight(days: readonly Light[], nowMs: number, keepMs = 0): number | undefined {
  const left = days.filter(({ untilMs }) => untilMs - keepMs > nowMs);
  const [first] = left;
  return first === undefined || first.fromMs <= nowMs ? undefined : first.fromMs;
}

/** The light in which a trip begun then is made: what is left of it, or the next; undefined: not known. */
export const lightOf = (days: readonly Light[], atMs: number): Light | undefined =>
  days.find(({ untilMs }) => untilMs > atMs);
