import { DAY_MS } from '@duskline/domain';
import { EnergyInputError } from './errors.ts';

/** Twelve values, January first: each stands for the middle of its month. */
export type MonthlyValues = readonly number[];

const DAYS_PER_MONTH = 365.25 / 12;

/**
 * Value of a monthly table at an instant, straight between the middles of the months, December next to January.
 *
 * @param monthly  exactly 12 finite numbers
 * @param atMs     instant, Unix ms
 * @returns between the two neighbouring months' values
 * @throws EnergyInputError when there are not twelve finite numbers
 * @source ours: months of equal length, at most 1.5 days from the calendar's
 */
export function monthlyValueAt(monthly: MonthlyValues, atMs: number): number {
  requireMonthly('monthly', monthly);
  const yearStartMs = Date.UTC(new Date(atMs).getUTCFullYear(), 0, 1);
  const place = (atMs - yearStartMs) / DAY_MS / DAYS_PER_MONTH - 0.5;
  const low = Math.floor(place);
  const before = monthly[(low + 12) % 12]!;
  const after = monthly[(low + 13) % 12]!;
  return before + (after - before) * (place - low);
}

/**
 * Stops at the door a monthly table that is none.
 *
 * @throws EnergyInputError naming the table, and the month that has no number
 */
export function requireMonthly(name: string, monthly: MonthlyValues): void {
  if (monthly.length !== 12) {
    throw new EnergyInputError(name, `${monthly.length} values`, '12 values, January first');
  }
  for (const [month, value] of monthly.entries()) {
    if (!Number.isFinite(value)) {
      throw new EnergyInputError(`${name}[${month}]`, value, 'a finite number');
    }
  }
}
