import type { DaySigns } from '../day-signs.ts';
import type { PowerSeen } from '../seen-of-power.ts';

/** The mean of one sign over the last days in which it is known; undefined where it never is. */
export function recentMean(
  { days }: PowerSeen,
  sign: (day: DaySigns) => number | undefined,
  lastDays = 3,
): number | undefined {
  const known = days.slice(-lastDays).flatMap((day) => sign(day) ?? []);
  return known.length === 0 ? undefined : known.reduce((a, b) => a + b, 0) / known.length;
}

/** "−24 %" of a change against 1. */
export const sayChange = (change: number): string => {
  const percent = Math.round((change - 1) * 100);
  return percent < 0 ? `${-percent} % less` : `${percent} % more`;
};
