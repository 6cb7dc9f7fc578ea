import {
  DAY_MS,
  HOUR_MS,
  type HourlyHistory,
  type Position,
  type PowerSystem,
} from '@duskline/domain';
import {
  advanceBattery,
  batteryPackOf,
  referenceHourlyWh,
  startBatteryWalk,
  sunPosition,
} from '@duskline/energy';
import { madeUpHistory, moor, moorPower } from './testing.ts';

export const LIFE_DAYS = 60;
const HOURS = LIFE_DAYS * 24;

/** What is hidden from the learner: it is what the tests expect, and comes from nowhere but here. */
export interface Truth {
  readonly scale?: (hour: number) => number;
  readonly healthRatio?: number;
  readonly facing?: { readonly tiltDeg: number; readonly azimuthDeg: number };
  /** Part of the light let through. */
  readonly through?: (azimuthDeg: number) => number;
  readonly loadW?: (hour: number) => number;
  readonly weather?: (day: number) => number;
  readonly power?: PowerSystem;
  readonly endMs?: number;
  readonly position?: Position;
  readonly startRatio?: number;
}

/** Clouds pass by the hour on days that are not cloudless; mean 1. */
const passing = (hour: number): number => 0.5 + ((hour * 7) % 11) / 10;

/** Every third day cloudless, the others made up. */
export const mixedDays = (day: number): number =>
  day % 3 === 0 ? 1 : 0.15 + (0.6 * ((day * 37) % 60)) / 60;

/** Lives a node, for tests, through sixty days by the energy package's balance, from a hidden truth. */
export function live(truth: Truth): HourlyHistory {
  const power = truth.power ?? moorPower;
  const position = truth.position ?? moor;
  const endMs = truth.endMs ?? Date.UTC(2026, 9, 20);
  const startMs = endMs - LIFE_DAYS * DAY_MS;
  const panel = { ...power.panel, ...truth.facing };
  const skyWh = referenceHourlyWh({ position, panel, startMs, hours: HOURS });
  const pack = batteryPackOf(power, { healthRatio: truth.healthRatio ?? 1 });
  const walk = startBatteryWalk(truth.startRatio ?? 0.6);
  const series: Record<'panelW' | 'loadW' | 'chargeRatio', (number | null)[]> = {
    panelW: [],
    loadW: [],
    chargeRatio: [],
  };
  for (let i = 0; i < HOURS; i++) {
    const day = Math.floor(i / 24);
    const dayRatio = (truth.weather ?? mixedDays)(day);
    const sun = sunPosition(
      startMs + (i + 0.5) * HOUR_MS,
      position.latitudeDeg,
      position.longitudeDeg,
    );
    walk.harvestW =
      skyWh[i]! *
      (truth.scale?.(i) ?? 1) *
      dayRatio *
      (dayRatio < 0.9 ? passing(i) : 1) *
      (truth.through?.(sun.azimuthDeg) ?? 1);
    walk.loadW = truth.loadW?.(i) ?? 1;
    walk.batteryC = 20;
    const before = walk.chargeRatio;
    const wasDark = walk.dark;
    advanceBattery(pack, walk);
    const isHeard = !wasDark && !walk.dark;
    series.panelW.push(isHeard ? walk.harvestW - walk.spilledWh : null);
    series.loadW.push(isHeard ? walk.loadW : null);
    series.chargeRatio.push(isHeard ? (before + walk.chargeRatio) / 2 : null);
  }
  return madeUpHistory(startMs, HOURS, {
    panelW: (i) => series.panelW[i]!,
    loadW: (i) => series.loadW[i]!,
    chargeRatio: (i) => series.chargeRatio[i]!,
    batteryC: () => 20,
  });
}
