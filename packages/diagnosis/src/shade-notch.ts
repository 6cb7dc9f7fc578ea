import { solarDayNumber } from './day-signs.ts';
import type { PowerHours } from './power-hours.ts';
import { HOUR_MS } from '@duskline/domain';

/** A stretch of sun azimuth in which the panel lately gives less than before, while it gives the same outside it. */
export interface ShadeNotch {
  readonly fromDeg: number;
  readonly toDeg: number;
  /** Share of the former harvest that is left there, 0–1, after what changed outside the notch is taken out. */
  readonly left: number;
  /** The same outside it, recent ÷ before: well above 1 speaks of a panel that was turned, not of a shadow. */
  readonly outside: number;
}

const BIN_DEG = 15;
const BINS = 360 / BIN_DEG;
/** Hours a bin must hold in either period to be judged. */
const ENOUGH = 5;
const DEEP_ENOUGH = 0.72;
/** A change is believed when it is so many standard errors of its two medians deep: passing clouds make notches too. */
const SURE_ERRORS = 2.5;
/** On darker days than this a shadow does not show: all light is diffuse (share of a cloudless day, our choice). */
const BRIGHT_DAY = 0.3;

interface Bin {
  readonly middle: number;
  /** Standard error of the median as a share of it. */
  readonly error: number;
}

/** How much the harvest at one bearing changed, recent ÷ before, with its standard error. */
interface Change {
  readonly value: number;
  readonly error: number;
}

/**
 * Looks for the notch that growth, a branch or a new wall cuts: what bright days bring at each 15° of sun azimuth in the last
 * `recentHours`, against the time before. Each day is measured by its own brightness, so that a bright week is not laid
 * beside a dull one.
 *
 * @returns undefined when there is none, or too little sun to tell
 * @source common practice, no source: a shadow stands still against the sun, soil does not
 */
export function findShadeNotch(hours: PowerHours, recentHours: number): ShadeNotch | undefined {
  const change = changesByBearing(hours, recentHours);
  const judged = change.flatMap((one) => one?.value ?? []).sort((a, b) => a - b);
  if (judged.length < 4) return undefined;
  // Weather and soil change all bins alike: the better half of them tells by how much.
  const outside = judged[Math.floor(judged.length * 0.75)] ?? 1;
  const isDeep = change.map(
    (one) =>
      one !== undefined &&
      one.value / outside < DEEP_ENOUGH &&
      one.value / outside < 1 - SURE_ERRORS * one.error,
  );
  const first = isDeep.indexOf(true);
  if (first < 0) return undefined;
  const last = isDeep.lastIndexOf(true);
  const deepCount = isDeep.filter(Boolean).length;
  if (deepCount < last - first || deepCount > judged.length * 0.6) return undefined;
  const inside = change.slice(first, last + 1).flatMap((one) => one?.value ?? []);
  return {
    fromDeg: first * BIN_DEG,
    toDeg: (last + 1) * BIN_DEG,
    left: inside.reduce((a, b) => a + b, 0) / inside.length / outside,
    outside,
  };
}

/**
 * How much more the second half of the day gained than the first, recent against before: 1 = both alike. A panel that was
 * turned loses on one side what it gains on the other; a shadow only loses.
 */
export function afternoonGain(hours: PowerHours, recentHours: number): number | undefined {
  const change = changesByBearing(hours, recentHours);
  const side = (from: number, to: number) => {
    const known = change.slice(from, to).flatMap((one) => one?.value ?? []);
    return known.length < 2 ? undefined : known.reduce((a, b) => a + b, 0) / known.length;
  };
  const [morning, afternoon] = [side(0, BINS / 2), side(BINS / 2, BINS)];
  return morning === undefined || afternoon === undefined || morning <= 0
    ? undefined
    : afternoon / morning;
}

function changesByBearing(hours: PowerHours, recentHours: number): readonly (Change | undefined)[] {
  const split = hours.expectedW.length - recentHours;
  const before = binsOf(hours, 0, split);
  const recent = binsOf(hours, split, hours.expectedW.length);
  return before.map((was, bin) => {
    const now = recent[bin];
    if (was === undefined || now === undefined || was.middle < 0.15) return undefined;
    return { value: now.middle / was.middle, error: Math.hypot(was.error, now.error) };
  });
}

/** For each bearing what the bright days of a period bring there, as a share of what those days bring at their best. */
function binsOf(hours: PowerHours, from: number, to: number): (Bin | undefined)[] {
  const brightestW = Math.max(0, ...hours.expectedW);
  const days = new Map<number, { readonly bin: number; readonly share: number }[]>();
  for (let i = Math.max(0, from); i < to; i++) {
    const expectedW = hours.expectedW[i] ?? 0;
    const panelW = hours.panelW[i] ?? null;
    if (panelW === null || expectedW < 0.15 * brightestW) continue;
    if ((hours.chargeRatio[i] ?? 0) >= 0.9 || isBlocked(hours, i)) continue;
    const day = solarDayNumber(hours.startMs + (i + 0.5) * HOUR_MS, hours.longitudeDeg);
    const bin = Math.floor((hours.sunAzimuthDeg[i] ?? 0) / BIN_DEG) % BINS;
    const known = days.get(day) ?? [];
    known.push({ bin, share: panelW / expectedW });
    days.set(day, known);
  }
  const bins: number[][] = Array.from({ length: BINS }, () => []);
  for (const [day, hoursOfDay] of days) {
    const brightness = brightnessOf(hoursOfDay, hours.peerYield?.get(day));
    if (brightness < BRIGHT_DAY) continue;
    for (const { bin, share } of hoursOfDay) bins[bin]?.push(share / brightness);
  }
  return bins.map(binOf);
}

/** By the other sites, which the shadow does not reach; else by the better hours of the day. */
function brightnessOf(
  day: readonly { readonly share: number }[],
  peer: number | undefined,
): number {
  if (peer !== undefined) return peer;
  const shares = day.map(({ share }) => share).sort((a, b) => a - b);
  return shares.length < 4 ? 0 : (shares[Math.floor(shares.length * 0.75)] ?? 0);
}

/** Median with its error from the spread: 1.4826 · MAD is σ of a normal spread, and σ of a median 1.2533 σ ÷ √n. */
function binOf(shares: number[]): Bin | undefined {
  if (shares.length < ENOUGH) return undefined;
  const middle = middleOf(shares);
  const spread = 1.4826 * middleOf(shares.map((share) => Math.abs(share - middle)));
  return {
    middle,
    error: middle <= 0 ? 1 : (1.2533 * spread) / Math.sqrt(shares.length) / middle,
  };
}

function middleOf(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const at = sorted.length >> 1;
  return sorted.length % 2 === 1
    ? (sorted[at] ?? 0)
    : ((sorted[at - 1] ?? 0) + (sorted[at] ?? 0)) / 2;
}

function isBlocked({ batteryC, chargeLimitsC: [lowC, highC] }: PowerHours, hour: number): boolean {
  const celsius = batteryC[hour] ?? null;
  return celsius !== null && (celsius <= lowC || celsius >= highC);
}
