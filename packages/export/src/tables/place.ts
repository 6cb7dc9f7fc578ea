import type { Position } from '@duskline/domain';
import type { PositionChoice } from '../export-request.ts';

/** Cells of a hundredth of a degree: 1.1 km from south to north. Always the same cell, so that asking twice tells no more. */
const CELL_DEG = 0.01;
const METRES_A_DEGREE = 111_320;
/** The height would tell the place on a map: blurred positions give it no finer than this, m. */
export const ELEVATION_STEP_M = 50;

export interface Place {
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
  readonly elevationM: number;
  /** How far the true place may be away, rounded up to 100 m; 0: it is the place itself. */
  readonly blurM: number;
}

/** A position as it may be given away, made before anything is written; undefined where it is left out. */
export function placeOf(position: Position, choice: PositionChoice): Place | undefined {
  if (choice === 'left-out') return undefined;
  if (choice === 'exact') return { ...position, blurM: 0 };
  const cell = (degrees: number): number =>
    Number((Math.round(degrees / CELL_DEG) * CELL_DEG).toFixed(2));
  const half = (CELL_DEG / 2) * METRES_A_DEGREE;
  return {
    latitudeDeg: cell(position.latitudeDeg),
    longitudeDeg: cell(position.longitudeDeg),
    elevationM: Math.round(position.elevationM / ELEVATION_STEP_M) * ELEVATION_STEP_M,
    blurM: Math.ceil((half * Math.SQRT2) / 100) * 100,
  };
}
