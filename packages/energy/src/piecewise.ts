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
  let [lowX, lowY] = points[0]!;
  if (x <= lowX) return lowY;
  for (let index = 1; index < points.length; index += 1) {
    const [highX, highY] = points[index]!;
    if (x <= highX) return lowY + ((highY - lowY) * (x - lowX)) / (highX - lowX);
    lowX = highX;
    lowY = highY;
  }
  return lowY;
}

/**
 * The x at which a rising curve reaches y: the inverse of `interpolate`.
 *
 * @param points  at least one, x and y both rising strictly
 * @param y       any finite number
 * @returns x; the first or last x outside the points
 */
export function interpolateInverse(points: CurvePoints, y: number): number {
  let [lowX, lowY] = points[0]!;
  if (y <= lowY) return lowX;
  for (let index = 1; index < points.length; index += 1) {
    const [highX, highY] = points[index]!;
    if (y <= highY) return lowX + ((highX - lowX) * (y - lowY)) / (highY - lowY);
    lowX = highX;
    lowY = highY;
  }
  return lowX;
}
