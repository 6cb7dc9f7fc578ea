/** Points of a curve, x rising strictly: [x, y]. */
export type CurvePoints = readonly (readonly [x: number, y: number])[];

/**
 * Value of a curve given by points, linear between them, level outside.
 *
 * @param points  at least one, x rising strictly
 * @param x       any finite number
 * @returns y; the first or last y outside the points
 */
export function interpolate(points: CurvePoints, x: number): number {
  // Indices, not destructuring: this stands in the hot loop, and iterators cost tenfold there.
  const first = points[0]!;
  if (x <= first[0]) return first[1];
  for (let index = 1; index < points.length; index += 1) {
    const high = points[index]!;
    if (x <= high[0]) {
      const low = points[index - 1]!;
      return low[1] + ((high[1] - low[1]) * (x - low[0])) / (high[0] - low[0]);
    }
  }
  return points[points.length - 1]![1];
}

/**
 * The x at which a rising curve reaches y: the inverse of `interpolate`.
 *
 * @param points  at least one, x and y both rising strictly
 * @param y       any finite number
 * @returns x; the first or last x outside the points
 */
export function interpolateInverse(points: CurvePoints, y: number): number {
  const first = points[0]!;
  if (y <= first[1]) return first[0];
  for (let index = 1; index < points.length; index += 1) {
    const high = points[index]!;
    if (y <= high[1]) {
      const low = points[index - 1]!;
      return low[0] + ((high[0] - low[0]) * (y - low[1])) / (high[1] - low[1]);
    }
  }
  return points[points.length - 1]![0];
}
