/** Outlooks are graded up to here, days. */
export const HORIZON = 21;

/** One outlook of a node that was up, graded. */
export interface GradedOutlook {
  readonly design: string;
  /** 30 days of the site. */
  readonly block: number;
  readonly p7: number;
  readonly dark7: boolean;
  readonly brier: number;
  readonly brierBaseRate: number;
  readonly brierLast24h: number;
  readonly brierLast7d: number;
  readonly brierNoSun: number;
  readonly crpsDays: number;
  readonly crpsLast24h: number;
  readonly crpsLast7d: number;
  readonly crpsNoSun: number;
  /** Of the bootstrap that takes a full battery's hours for dull ones; undefined where it had too few days to draw from. */
  readonly crpsBareBootstrap: number | undefined;
  /** Of the same chain with its flags of a full battery taken away and its own days alone; undefined where not asked for. */
  readonly crpsTrapped: number | undefined;
  readonly isCovered: boolean;
  readonly isNonTrivial: boolean;
  /** Median, and mean of the times cut at the horizon: the mean still tells cases apart whose median lies beyond it. */
  readonly p50Days: number;
  readonly meanDays: number;
  readonly observedDays: number;
}

/** The window given when a dark spell began, graded by when it ended. */
export interface GradedReturn {
  readonly design: string;
  readonly block: number;
  readonly crpsDays: number;
  readonly isCovered: boolean;
  readonly waitDays: number;
}
