import { linearScale, type Scale } from './scale.ts';

/** Room around a plot for its labels, px. */
export const margin = { top: 26, right: 8, bottom: 26, left: 46 } as const;

/** Where a chart draws: pixel scales for time and value, and the edges of the plot. */
export interface PlotArea {
  readonly x: Scale;
  readonly y: Scale;
  /** The instant under a pixel. */
  readonly timeAt: (px: number) => number;
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

export interface PlotFrame {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly fromMs: number;
  readonly toMs: number;
  readonly domain: readonly [number, number];
}

/** The plot inside a drawing of that size. */
export function plotArea({ widthPx, heightPx, fromMs, toMs, domain }: PlotFrame): PlotArea {
  const left = margin.left;
  const right = Math.max(left + 1, widthPx - margin.right);
  const top = margin.top;
  const bottom = heightPx - margin.bottom;
  return {
    x: linearScale([fromMs, toMs], [left, right]),
    y: linearScale(domain, [bottom, top]),
    timeAt: linearScale([left, right], [fromMs, toMs]),
    left,
    right,
    top,
    bottom,
  };
}
