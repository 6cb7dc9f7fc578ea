/** What was read in one step. */
export interface ReadingPoint {
  /** Start of the step. */
  readonly atMs: number;
  readonly mean: number;
  readonly min: number;
  readonly max: number;
  readonly count: number;
}
