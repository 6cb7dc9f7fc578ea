/** Least squares through hourly values; gaps are left out. */
export interface Line {
  readonly slopePerHour: number;
  readonly points: number;
}

/** Three days of hours, so that a day's rhythm is not taken for a trend. */
const FEWEST_POINTS = 72;

/** @returns undefined with fewer than three days of values */
export function lineThrough(values: readonly (number | null)[]): Line | undefined {
  let count = 0;
  let sumX = 0;
  let sumY = 0;
  let sumXX = 0;
  let sumXY = 0;
  values.forEach((value, hour) => {
    if (value === null) return;
    count++;
    sumX += hour;
    sumY += value;
    sumXX += hour * hour;
    sumXY += hour * value;
  });
  const spread = count * sumXX - sumX * sumX;
  if (count < FEWEST_POINTS || spread === 0) return undefined;
  return { slopePerHour: (count * sumXY - sumX * sumY) / spread, points: count };
}
