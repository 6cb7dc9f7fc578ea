/** An hour whose samples or flags changed, and the news by which it was marked. */
export interface StaleHour {
  readonly startMs: number;
  readonly newsVersion: number;
}
