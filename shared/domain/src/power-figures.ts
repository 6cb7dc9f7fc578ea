/** What the last weeks of power show, weather taken out: what diagnosis sums up and alerts are raised by. Shares: 1 = as ever. */
export interface PowerFigures {
  /** Of the last three days: the sky offered enough, the battery could take it, and nearly nothing came; and days on which it came. */
  readonly badDays: number;
  readonly goodDays: number;
  readonly yieldChange?: number;
  /** Against its own best week of the last five, which is what it gives when it is clean. */
  readonly yieldAgainstBest?: number;
  /** Days with a yield that could be judged, of the last 14. */
  readonly yieldDays: number;
  readonly loadChange?: number;
  readonly recentLoadW?: number;
  readonly usualLoadW?: number;
  /** Learnt present capacity ÷ rated, and from how many cycles. */
  readonly capacityShare?: number;
  readonly capacityCycles?: number;
  readonly resistanceShare?: number;
  readonly boxRhDayMeanPercent?: number;
}
