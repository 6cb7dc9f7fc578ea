/** What the tests know of the node beside its readings; the server passes it in. */
export interface Surroundings {
  /** The node's usual gap between readings, > 0. */
  readonly usualGapS: number;
  /** Elevation of the sun at the site. */
  readonly sunElevationDeg: (atMs: number) => number;
  /** Sunlight on the flat under a clear sky, 0 by night. */
  readonly clearSkyWPerM2: (atMs: number) => number;
}

const GAP_IN_USUAL_GAPS = 3;
const LEAST_GAP_S = 180;

/** Readings further apart than this are no neighbours (our choice: radio does lose one now and then). */
export const maxGapS = ({ usualGapS }: Pick<Surroundings, 'usualGapS'>): number =>
  Math.max(GAP_IN_USUAL_GAPS * usualGapS, LEAST_GAP_S);
