/**
 * Pinball loss of one quantile: what its level makes of an error above and below.
 *
 * @param level     of the quantile, 0 … 1
 * @param quantile  the forecast
 * @param observed  what came, the same unit
 * @returns ≥ 0, the unit of the quantile
 * @source Koenker & Bassett 1978, Econometrica 46:33
 */
export function pinballLoss(level: number, quantile: number, observed: number): number {
  const error = observed - quantile;
  return Math.max(level * error, (level - 1) * error);
}
