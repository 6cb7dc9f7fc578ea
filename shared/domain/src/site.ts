import type { CustomBattery } from './custom-battery.ts';
import type { NodeId, NodeName, SiteId } from './ids.ts';

/** WGS 84. */
export interface Position {
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
  readonly elevationM: number;
}

/** Who owns or farms the land a site stands on. */
export interface LandOwner {
  readonly name: string;
  readonly phone: string;
}

/** A place: position, access, hazards, people. */
export interface Site {
  readonly id: SiteId;
  readonly name: string;
  readonly position: Position;
  /** IANA name, e.g. `Europe/London`. */
  readonly timeZone: string;
  readonly access: string;
  readonly hazards: string;
  /** Whom to call who is nearer than any of us; undefined: nobody has been written down. */
  readonly landOwner?: LandOwner;
  /** Its silence may wake somebody. */
  readonly critical?: boolean;
  /** Mean daily clearness (0–1) of the twelve months, January first, from a climate table: what is expected before its own days tell. */
  readonly clearnessByMonth?: readonly number[];
}

export const batteryChemistries = [
  'li-ion-nmc',
  'li-ion-lco',
  'lifepo4',
  'lead-acid-flooded',
  'lead-acid-agm',
  'nimh',
] as const;
export type BatteryChemistry = (typeof batteryChemistries)[number];

/** What the builder says was put up: the design values a forecast starts from. */
export interface PowerSystem {
  readonly panel: {
    readonly ratedW: number;
    /** 0 = flat, 90 = upright. */
    readonly tiltDeg: number;
    /** From north, clockwise. */
    readonly azimuthDeg: number;
  };
  readonly battery: {
    readonly chemistry: BatteryChemistry;
    readonly ratedWh: number;
    readonly seriesCells: number;
    /** The builder's own battery; `chemistry` then says which it is most like, for what is not stated here. */
    readonly custom?: CustomBattery;
  };
  readonly charger: 'mppt' | 'direct';
  /** Charge (0–1) at which the node stops itself. */
  readonly shutDownRatio: number;
  /** Charge (0–1) at which it comes back. */
  readonly restartRatio: number;
  /** What is drawn while shut down. */
  readonly offStateDrawW: number;
  /** The usual gap between two messages. */
  readonly usualGapS: number;
}

/** Somebody has a node off for work: never without an owner and an end. */
export interface WorkNotice {
  readonly owner: string;
  readonly fromMs: number;
  readonly untilMs: number;
  readonly reason: string;
}

/** What a node may send in a month, and on which day of the month that begins anew. */
export interface DataPlan {
  readonly capBytes: number;
  readonly renewsOnDay: number;
}

/** The computer at a site that publishes. */
export interface FieldNode {
  readonly id: NodeId;
  readonly name: NodeName;
  readonly siteId: SiteId;
  readonly power: PowerSystem;
  readonly commissionedAtMs: number;
  readonly retiredAtMs?: number;
  readonly offForWork?: WorkNotice;
  /** Carrier, gateway or relay it hangs on with others, e.g. a network's name. */
  readonly link?: string;
  readonly dataPlan?: DataPlan;
}
