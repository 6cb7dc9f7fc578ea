/**
 * What a node has taught about itself, kept between outlooks: plain JSON, no holes, no NaN, no Infinity. Whoever stores it
 * stores it whole, and hands it back whole to `advanceLearnt` and to `ForecastInputs.learnt`.
 */
export const LEARNT_VERSION = 1;

/** The parts of which each can be learnt anew, when the thing itself was replaced. */
export const learntParts = ['panel', 'battery', 'load', 'weather'] as const;
export type LearntPart = (typeof learntParts)[number];

/** How far a learnt value may be relied on; `assumed`: nothing was seen, the prior stands. */
export const surenesses = ['assumed', 'weak', 'fair', 'firm'] as const;
export type Sureness = (typeof surenesses)[number];

/** One thing learnt: never without its band, and where it came from. */
export interface Learnt {
  readonly value: number;
  /** 10 % and 90 % ends of the band. */
  readonly low: number;
  readonly high: number;
  /** 'ratio', 'Wh', 'Wh/day', 'W', 'Ω', '°'. */
  readonly unit: 'ratio' | 'Wh' | 'Wh/day' | 'W' | 'Ω' | '°';
  /** Days of readings behind it. */
  readonly fromDays: number;
  readonly sureness: Sureness;
  /** How it was learnt, one plain sentence. */
  readonly how: string;
}

/** What every part carries. */
interface PartLearning {
  /** Only readings from this instant on count: the part was replaced then. Left out: all that are known. */
  readonly sinceMs?: number;
  /** Nothing observed from this instant on went in. */
  readonly untilMs: number;
}

/** The best the panel does with the sun in one stretch of azimuth, in one season. */
export interface ShadeBin {
  /** Two months: 0 = January and February … 5 = November and December. */
  readonly season: number;
  /** Lower edge of 15° of sun azimuth, from north clockwise. */
  readonly azimuthDeg: number;
  /** 90th percentile of harvest over clear-sky harvest, shrunk towards that of all bins. */
  readonly envelopeRatio: number;
  /** What the yardstick is multiplied by: 1 = no shade found. */
  readonly shadeRatio: number;
  /** Free, bright hours behind it. */
  readonly hours: number;
}

/** The panel gives markedly less than it did, though the sky was clear. */
export interface PanelWarning {
  readonly kind: 'scale-falls';
  readonly fromRatio: number;
  readonly toRatio: number;
  /** Clear days among the last fourteen: weather cannot explain it. */
  readonly clearDays: number;
  readonly says: string;
}

export interface LearntPanel extends PartLearning {
  /** Best hours against the nameplate: soiling, true efficiency, wrong rating in one figure. */
  readonly scale: Learnt;
  readonly shade: readonly ShadeBin[];
  /** Where the panel really faces; only with at least five clear days. */
  readonly orientation?: { readonly tiltDeg: Learnt; readonly azimuthDeg: Learnt };
  readonly warning?: PanelWarning;
}

export interface LearntBattery extends PartLearning {
  /** Present capacity over nameplate. */
  readonly health: Learnt;
  readonly capacityWh: Learnt;
  /** Left out: no step of current was seen; the usual one of its chemistry stands. */
  readonly resistanceOhm?: Learnt;
  /** State of the filter that follows `health`. */
  readonly filter: { readonly ratio: number; readonly variance: number; readonly atMs: number };
  /** Swings of charge that went into it. */
  readonly swings: number;
}

/** The load changed for good: new program, new camera. */
export interface LoadStep {
  /** Start of the first solar day on the new level. */
  readonly atMs: number;
  readonly fromWhPerDay: number;
  readonly toWhPerDay: number;
  readonly says: string;
}

export interface LearntLoad extends PartLearning {
  readonly level: Learnt;
  /** W by hour of the UTC day, 24 long; empty while nothing told the load. */
  readonly byUtcHourW: readonly number[];
  /** Standard deviation of the logarithm of a day's load. */
  readonly daySigma: number;
  readonly from: 'measured' | 'charge-by-night' | 'unknown';
  readonly steps: readonly LoadStep[];
}

/** The yield of one past solar day, kept when the hours behind it are no longer at hand. */
export interface LearntDay {
  /** Start of the solar day. */
  readonly dayMs: number;
  /** Harvest over the clear-sky yardstick, shade taken out; a lower bound when censored. */
  readonly ratio: number;
  readonly isCensored: boolean;
  /** Share of the day's clear-sky energy that was heard, 0–1. */
  readonly heardShare: number;
  /** Battery (or air) temperature, mean of the day; left out when nothing measured it. */
  readonly meanC?: number;
  /** Worked out from the charge before and after a dark spell, not read. */
  readonly fromDarkSpell?: true;
}

export interface LearntWeather extends PartLearning {
  /** Ascending, at most two years and two months. */
  readonly days: readonly LearntDay[];
  readonly typicalRatio: Learnt;
}

export interface LearntSite {
  readonly version: typeof LEARNT_VERSION;
  /** Nothing observed from this instant on went in. */
  readonly untilMs: number;
  readonly panel: LearntPanel;
  readonly battery: LearntBattery;
  readonly load: LearntLoad;
  readonly weather: LearntWeather;
}
