/** Precipitation falls as snow in air at or below this (common practice, no source). */
const SNOW_BELOW_C = 1;
/** Melted in an hour for each kelvin above freezing: degree-day factors of 2 to 6 mm a day in hydrology handbooks (from memory). */
const MELT_MM_PER_K_HOUR = 4 / 24;
/** A steep pane holds no more: some ten centimetres of fresh snow (assumption). */
const HOLDS_MM = 10;
/** Sun and wind clear a steep pane sooner than a frost ends: after so long nothing is put down to snow (project choice). */
const FORGOTTEN_HOURS = 5 * 24;

/**
 * Snow that may lie on a panel at the end of each hour, mm of water. Rain by day and frost by night are no snow: it must
 * fall while it is cold. It goes with warmth, and rain takes it off a steep pane.
 *
 * @param airC, rainMm by the hour; null where not known
 * @returns null where either is not known
 */
export function snowLying(
  airC: readonly (number | null)[],
  rainMm: readonly (number | null)[],
): readonly (number | null)[] {
  let lyingMm = 0;
  let hoursSince = Infinity;
  return airC.map((air, i) => {
    const fellMm = rainMm[i] ?? null;
    if (air !== null) lyingMm -= Math.max(0, air) * MELT_MM_PER_K_HOUR;
    if (air !== null && fellMm !== null) lyingMm += air <= SNOW_BELOW_C ? fellMm : -fellMm;
    hoursSince = air !== null && air <= SNOW_BELOW_C && (fellMm ?? 0) > 0 ? 0 : hoursSince + 1;
    if (hoursSince > FORGOTTEN_HOURS) lyingMm = 0;
    lyingMm = Math.min(HOLDS_MM, Math.max(0, lyingMm));
    return air === null || fellMm === null ? null : lyingMm;
  });
}
