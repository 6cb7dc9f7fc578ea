const DAYS_PER_YEAR = 365.25;
const DAYS_PER_MONTH = DAYS_PER_YEAR / 12;

/**
 * A quantity of the season on one day, from its twelve monthly means: straight lines between the middles of the months.
 *
 * @param byMonth    twelve values, January first
 * @param dayOfYear  1 … 366; days beyond run on into the next year
 */
export function monthlyMean(byMonth: readonly number[], dayOfYear: number): number {
  const place = ((((dayOfYear - 0.5) / DAYS_PER_MONTH - 0.5) % 12) + 12) % 12;
  const month = Math.floor(place);
  const low = byMonth[month]!;
  return low + (byMonth[(month + 1) % 12]! - low) * (place - month);
}
