import type { Scale } from '../../charts/scale.ts';
import { decimate } from './decimate.ts';
import type { ShownSeries } from './shown-series.ts';
import type { ViewWindow } from './view-window.ts';

export interface Ink {
  readonly colour: string;
  readonly dash: readonly number[];
}

export interface DrawFrame {
  readonly view: ViewWindow;
  readonly left: number;
  readonly width: number;
  readonly top: number;
  readonly bottom: number;
  readonly y: Scale;
  /** What needs a person: the marks of doubted readings. */
  readonly doubt: string;
}

/** Draws one metric: least to greatest of each pixel column, joined from column to column but never over a silence. */
export function drawSeries(
  paper: CanvasRenderingContext2D,
  series: ShownSeries,
  ink: Ink,
  frame: DrawFrame,
): void {
  const { view, left, width, top, bottom, y } = frame;
  paper.save();
  paper.beginPath();
  paper.rect(left, top - 3, width, bottom - top + 6);
  paper.clip();
  paper.strokeStyle = ink.colour;
  paper.lineWidth = 1.5;
  paper.lineJoin = 'round';
  const columns = decimate(series.columns, {
    ...view,
    columns: Math.max(1, Math.round(width)),
    gapMs: series.gapMs,
  });

  if (series.source !== 'raw') {
    paper.globalAlpha = 0.3;
    paper.beginPath();
    for (const { column, low, high } of columns) {
      const x = left + column + 0.5;
      paper.moveTo(x, y(low) + 0.5);
      paper.lineTo(x, y(high) - 0.5);
    }
    paper.stroke();
    paper.globalAlpha = 1;
  }
  paper.setLineDash([...ink.dash]);
  paper.beginPath();
  columns.forEach(({ column, low, high, first, last, isBroken }, i) => {
    const x = left + column + 0.5;
    if (i === 0 || isBroken) paper.moveTo(x, y(first));
    else paper.lineTo(x, y(first));
    if (series.source === 'raw' && low !== high) {
      paper.lineTo(x, y(low));
      paper.lineTo(x, y(high));
      paper.lineTo(x, y(last));
    }
  });
  paper.stroke();
  paper.setLineDash([]);

  // A reading with silence on both sides is a dot, or it would not be seen at all.
  paper.fillStyle = ink.colour;
  columns.forEach(({ column, first, isBroken }, i) => {
    const next = columns[i + 1];
    const alone = (i === 0 || isBroken) && (next === undefined || next.isBroken);
    if (alone) paper.fillRect(left + column - 1, y(first) - 1, 3, 3);
  });
  drawDoubted(paper, series, frame);
  paper.restore();
}

const MARK = 3.5;

/** A ring for a suspect reading, a cross for a failed one; those beyond the axis stand at its edge. */
function drawDoubted(
  paper: CanvasRenderingContext2D,
  { doubted }: ShownSeries,
  { view, left, width, top, bottom, y, doubt }: DrawFrame,
): void {
  paper.strokeStyle = doubt;
  paper.lineWidth = 1.5;
  const perMs = width / (view.toMs - view.fromMs);
  for (const { atMs, value, isFail } of doubted) {
    if (atMs < view.fromMs || atMs > view.toMs) continue;
    const x = left + (atMs - view.fromMs) * perMs;
    const at = Math.min(bottom - MARK, Math.max(top + MARK, y(value)));
    paper.beginPath();
    if (isFail) {
      paper.moveTo(x - MARK, at - MARK);
      paper.lineTo(x + MARK, at + MARK);
      paper.moveTo(x + MARK, at - MARK);
      paper.lineTo(x - MARK, at + MARK);
    } else paper.arc(x, at, MARK, 0, 2 * Math.PI);
    paper.stroke();
  }
}
