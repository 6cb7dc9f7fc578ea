import { scaleLinear } from 'd3-scale';

/** A value's place on the paper, in the units of the drawing. */
export type Scale = (value: number) => number;

/** A straight scale from [low, high] to [start, end]; a domain without width lands in the middle. */
export function linearScale(
  domain: readonly [number, number],
  range: readonly [number, number],
): Scale {
  const [low, high] = domain;
  const middle = (range[0] + range[1]) / 2;
  if (low === high) return () => middle;
  const scale = scaleLinear([low, high], [range[0], range[1]]);
  return (value) => scale(value);
}

export interface NiceAxis {
  readonly domain: readonly [number, number];
  readonly ticks: readonly number[];
}

/**
 * Round ends and round ticks that hold all values.
 *
 * @param low, high  the least and greatest value; may be equal
 * @param count      about how many ticks
 */
export function niceAxis(low: number, high: number, count = 4): NiceAxis {
  const margin = low === high ? Math.max(Math.abs(low) * 0.1, 0.5) : 0;
  const scale = scaleLinear([low - margin, high + margin], [0, 1]).nice(count);
  const [from = 0, to = 1] = scale.domain();
  return { domain: [from, to], ticks: scale.ticks(count) };
}
