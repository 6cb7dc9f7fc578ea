import { area, line } from 'd3-shape';

export type Point = readonly [x: number, y: number];
/** What lies between two lines at x. */
export type BandPoint = readonly [x: number, low: number, high: number];

/** Tenths of a drawing unit are finer than any screen. */
const DIGITS = 1;

const drawLine = line<Point | undefined>()
  .defined((point) => point !== undefined)
  .x((point) => point?.[0] ?? 0)
  .y((point) => point?.[1] ?? 0)
  .digits(DIGITS);

const drawBand = area<BandPoint | undefined>()
  .defined((point) => point !== undefined)
  .x((point) => point?.[0] ?? 0)
  .y0((point) => point?.[1] ?? 0)
  .y1((point) => point?.[2] ?? 0)
  .digits(DIGITS);

/** SVG path through the points; undefined breaks it: a gap is a gap. Empty text when there is nothing to draw. */
export const linePath = (points: readonly (Point | undefined)[]): string => drawLine(points) ?? '';

/** SVG path of what lies between two lines; undefined breaks it. */
export const bandPath = (points: readonly (BandPoint | undefined)[]): string =>
  drawBand(points) ?? '';

/** SVG path of what lies between a line and a level. */
export const areaPath = (points: readonly (Point | undefined)[], baseY: number): string =>
  bandPath(points.map((point) => (point === undefined ? undefined : [point[0], baseY, point[1]])));

/**
 * Points with a break wherever two neighbours lie further apart than `gap`, so that a line never bridges silence.
 *
 * @param points  in order of x
 * @param gap     same unit as the points' `atMs`
 */
export function breakAtGaps<T extends { readonly atMs: number }>(
  points: readonly T[],
  gap: number,
): readonly (T | undefined)[] {
  return points.flatMap((point, i) => {
    const before = points[i - 1];
    return before !== undefined && point.atMs - before.atMs > gap ? [undefined, point] : [point];
  });
}
