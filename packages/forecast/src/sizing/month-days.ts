/** Days of each month of a year without a leap day, January first. */
export const MONTH_DAYS: readonly number[] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

const months = MONTH_DAYS.flatMap((days, month) => new Array<number>(days).fill(month));

/**
 * Month of a day of such a year.
 *
 * @param day  0 … 364
 * @returns 0 … 11
 */
export function monthOfDay(day: number): number {
  return months[day]!;
}
