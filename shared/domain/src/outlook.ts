/** A window in which something is expected, at P10, P50 and P90. */
export interface ExpectedWindow {
  readonly p10Ms: number;
  /** Undefined: fewer than half of the paths have reached it within the horizon. */
  readonly p50Ms?: number;
  /** Undefined: more than one path in ten has not reached it within the horizon. */
  readonly p90Ms?: number;
}

/** The charge (0–1) the paths pass through, at a fixed step: the fan on the fleet page. */
export interface OutlookFan {
  readonly startMs: number;
  readonly stepMs: number;
  readonly p10: readonly number[];
  readonly p50: readonly number[];
  readonly p90: readonly number[];
}

/** What pushes the outlook, in figures a person can check. */
export interface OutlookDrivers {
  /** Mean harvest expected over the next seven days. */
  readonly harvestWhPerDay: number;
  readonly loadWhPerDay: number;
  /** Usable energy above the shut-down level now. */
  readonly reserveWh: number;
  /** Reserve ÷ load: days without any sun. */
  readonly noSunReserveDays: number;
  /** Typical share of clear-sky harvest over the node's own last weeks. */
  readonly harvestRatio: number;
  /** Days of own history that the weather was drawn from. */
  readonly historyDays: number;
  /** Mean of what the panel could have given in the fan's days and nothing could take. */
  readonly spilledWhPerDay?: number;
}

/** One sentence on what pushes an outlook, with its figures and units, for people. */
export interface OutlookReason {
  readonly about: 'harvest' | 'load' | 'reserve' | 'weather' | 'temperature' | 'panel' | 'battery';
  readonly says: string;
}

/** What the weather ahead was made from. Shares are of the paths, 0–1, and sum to 1. */
export interface OutlookWeather {
  /** Blocks of the node's own days. */
  readonly ownShare: number;
  /** Whole courses of the same season in its earlier years. */
  readonly seasonShare: number;
  /** The climate of the place: from the site's twelve clearness values, or learnt from the latitude on. */
  readonly climateShare: number;
  readonly clearnessFrom: 'site' | 'latitude';
  /** What the panel gives against its plate, as its own days under that climate tell it; sigma of the logarithm. */
  readonly panel: { readonly ratio: number; readonly sigma: number };
  /** A forecast from elsewhere: its days come first on every path. */
  readonly outside?: {
    readonly source: string;
    readonly issuedAtMs: number;
    /** Days of it that were used, and past pairs its error was learnt from. */
    readonly days: number;
    readonly pairs: number;
  };
}

/** The way of the harvest into the battery has failed, by all that is known, and does not mend itself. */
export interface HarvestStop {
  /** Since when nothing has come: the beginning of the first such hour. */
  readonly sinceMs: number;
  /** In words, e.g. "panel connector failed". */
  readonly cause: string;
  /** That it is the panel's connector or the charger, whichever of the two; 0–1. */
  readonly probability: number;
}

/** What every outlook says, whatever it found. */
export interface OutlookFrame {
  readonly issuedAtMs: number;
  readonly horizonDays: number;
  readonly model: string;
  readonly seed: number;
  /** Set when the node was dark as it was issued, whether or not a return could be foretold. */
  readonly whileDark?: true;
  /** Set when it is reckoned without harvest: what comes if nobody mends it. It is not scored, for somebody should. */
  readonly harvestStop?: HarvestStop;
}

/** Once a node is dark: when it is expected back. */
export type ReturnOutlook =
  | { readonly kind: 'expected-back'; readonly window: ExpectedWindow }
  /** Fewer than one path in ten reaches the restart level within the horizon. */
  | { readonly kind: 'out-of-reach' };

interface OutlookFigures {
  readonly darkWithin3DaysProbability: number;
  readonly darkWithin7DaysProbability: number;
  readonly darkWithin14DaysProbability: number;
  readonly fan: OutlookFan;
  readonly drivers: OutlookDrivers;
  /** Left out by outlooks issued before the weather was told. */
  readonly weather?: OutlookWeather;
  /** The drivers in words. Left out by outlooks issued before they were told. */
  readonly reasons?: readonly OutlookReason[];
}

/** The forecast of one node. Days are counted from `issuedAtMs`; P10 is the pessimistic end. */
export type Outlook = OutlookFrame &
  (
    | ({
        /** At least one path in ten reaches the shut-down level within the horizon. */
        readonly kind: 'empties-in';
        readonly p10Days: number;
        /** Undefined: beyond the horizon. Never a made-up number. */
        readonly p50Days?: number;
        readonly p90Days?: number;
        /** Set when the node is dark already (then all days are 0). */
        readonly back?: ReturnOutlook;
      } & OutlookFigures)
    | ({ readonly kind: 'beyond-horizon' } & OutlookFigures)
    | {
        readonly kind: 'insufficient-data';
        /** What is short, in words: "days with harvest readings". */
        readonly missing: string;
        readonly have: number;
        readonly need: number;
        /** A dark node may still have a return outlook from its design values. */
        readonly back?: ReturnOutlook;
      }
  );
