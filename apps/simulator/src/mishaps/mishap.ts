import type { PowerSystem } from '@duskline/domain';
import type { SkyNow } from '../weather.ts';

/** What goes wrong inside a node at one moment, said of its parts and never of its readings. */
export interface Mishap {
  /** The line from the panel to the charger is whole. */
  readonly panelConnected: boolean;
  readonly chargerWorks: boolean;
  /** The battery's own protection no longer keeps charge from cold cells. */
  readonly protectionFailed: boolean;
  /** Multiplies what the board draws. */
  readonly loadTimes: number;
  /** It draws the same by day and by night: it no longer sleeps. */
  readonly loadIsFlat: boolean;
  /** Multiplies the inner resistance of the battery. */
  readonly resistanceTimes: number;
  /** Lost on the way from board to aerial, dB. */
  readonly signalLossDb: number;
  /** Water stands in the box: 0 dry … 1 soaked. */
  readonly boxWet: number;
  /** The board browns out and starts anew after so many hours; 0 = never. */
  readonly restartsAfterHours: number;
  /** Multiplies the noise of the air thermometer: a wet plug. */
  readonly airNoiseTimes: number;
  /** Free on the memory card, bytes. */
  readonly cardFreeBytes: number;
  readonly cardReadOnly: boolean;
  readonly boxOpen: boolean;
  readonly mastMoved: boolean;
  /** Its clock was never set since it started. */
  readonly clockUnset: boolean;
}

export type MishapAt = (atMs: number) => Mishap;

/** A node with which nothing is wrong. */
export const sound: Mishap = {
  panelConnected: true,
  chargerWorks: true,
  protectionFailed: false,
  loadTimes: 1,
  loadIsFlat: false,
  resistanceTimes: 1,
  signalLossDb: 0,
  boxWet: 0,
  restartsAfterHours: 0,
  airNoiseTimes: 1,
  cardFreeBytes: 6e9,
  cardReadOnly: false,
  boxOpen: false,
  mastMoved: false,
  clockUnset: false,
};

/** What changes the light that reaches the cells: the panel's mount, and what lies on it. */
export interface PanelFate {
  /** How the panel really hangs; undefined: as the builder said. */
  readonly mountAt?: (atMs: number) => Pick<PowerSystem['panel'], 'tiltDeg' | 'azimuthDeg'>;
  /** Share of the light that comes through what lies on the glass, 0–1. */
  readonly throughGlassAt?: (atMs: number) => number;
}

/** The sky over one site, whoever asks. */
export type SkyAt = (atMs: number) => SkyNow;
