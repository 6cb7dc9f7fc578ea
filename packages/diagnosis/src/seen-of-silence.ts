import type { ExpectedWindow } from '@duskline/domain';
import type { StateFacts } from './state-facts.ts';

/** Nodes that hang on the same carrier, gateway or relay, and those that do not. */
export interface LinkNeighbours {
  /** What they share, e.g. the carrier's name; undefined: nothing is known to be shared. */
  readonly name?: string;
  /** Other nodes of the same link that should be heard, and how many are. */
  readonly sameExpected: number;
  readonly sameHeard: number;
  /** How many of the silent ones fell silent within half an hour of this node. */
  readonly fellSilentTogether: number;
  readonly otherExpected: number;
  readonly otherHeard: number;
}

/** All that speaks for or against the causes of a silence. */
export interface SilenceSeen extends StateFacts {
  readonly link?: LinkNeighbours;
  /** Hours with enough light for a tenth of the panel's rated power since it fell silent, by its neighbours or the clear sky. */
  readonly brightHoursSince?: number;
  /** Slope of the received signal over the last 14 days, dB a day. */
  readonly signalSlopeDbPerDay?: number;
  readonly signalDbm?: number;
  /** Bytes used this month of what the plan allows, and when it begins anew. */
  readonly dataPlan?: {
    readonly usedBytes: number;
    readonly capBytes: number;
    readonly renewsAtMs: number;
  };
  /** Panel voltage of its last readings in daylight, newest last. */
  readonly lastDaylightPanelV?: readonly number[];
  readonly boxOpened?: boolean;
  readonly moved?: boolean;
  /** A message came since, but dated before 2020 or with another boot's clock. */
  readonly misdatedMessages?: number;
  /** Mean load of its last day against its usual load; 1 = as usual. */
  readonly lastDayLoadShare?: number;
  /** Our own intake runs late, or nothing at all comes in. */
  readonly ownFault?: string;
  /** Somebody is known to be at the site. */
  readonly visitUnderWay?: boolean;
  readonly back?: ExpectedWindow;
}
