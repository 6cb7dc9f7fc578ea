import type { PowerHours } from './power-hours.ts';

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
/** The best third of the hours of a bin: what comes through on clear days. */
const CLEAR_QUANTILE = 0.8;

/**
 * Looks for the notch that growth, a branch or a new wall cuts: the clear-day harvest of each 15° of sun azimuth in the
 * last `recentHours`, against that of the time before.
 *
 * @returns undefined when there is none, or too little sun to tell
 * @source common practice, no source: a shadow stands still against the sun, soil does not
 */
export function findShadeNotch(hours: PowerHours, recentHours: number): ShadeNotch | undefined {
  const split = hours.expectedW.length - recentHours;
  const before = clearShares(hours, 0, split);
  const recent = clearShares(hours, split, hours.expectedW.length);
  const change: (number | undefined)[] = before.map((share, bin) => {
    const now = recent[bin];
    return share === undefined || now === undefined || share < 0.15 ? undefined : now / share;
  });
  const judged = change.filter((value) => value !== undefined).sort((a, b) => a - b);
  if (judged.length < 4) return undefined;
  // Weather and soil change all bins alike: the better half of them tells by how much.
  const outside = judged[Math.floor(judged.length * 0.75)] ?? 1;
  const isDeep = change.map((value) => value !== undefined && value / outside < DEEP_ENOUGH);
  const first = isDeep.indexOf(true);
  if (first < 0) return undefined;
  const last = isDeep.lastIndexOf(true);
  const deepCount = isDeep.filter(Boolean).length;
  if (deepCount !== last - first + 1 || deepCount > judged.length * 0.6) return undefined;
  const inside = change.slice(first, last + 1).flatMap((value) => value ?? []);
  return {
    fromDeg: first * BIN_DEG,
    toDeg: (last + 1) * BIN_DEG,
    left: inside.reduce((a, b) => a + b, 0) / inside.length / outside,
    outside,
  };
}

function clearShares(hours: PowerHours, from: number, to: number): (number | undefined)[] {
  const brightestW = Math.max(0, ...hours.expectedW);
  const bins: number[][] = Array.from({ length: BINS }, () => []);
  for (let i = Math.max(0, from); i < to; i++) {
    const expectedW = hours.expectedW[i] ?? 0;
    const panelW = hours.panelW[i] ?? null;
    if (panelW === null || expectedW < 0.15 * brightestW) continue;
    if ((hours.chargeRatio[i] ?? 0) >= 0.9 || isBlocked(hours, i)) continue;
    const bin = Math.floor((hours.sunAzimuthDeg[i] ?? 0) / BIN_DEG) % BINS;
    bins[bin]?.push(panelW / expectedW);
  }
  return bins.map((shares) => {
    if (shares.length < ENOUGH) return undefined;
    shares.sort((a, b) => a - b);
    return shares[Math.min(shares.length - 1, Math.floor(shares.length * CLEAR_QUANTILE))];
  });
}

function isBlocked({ batteryC, chargeLimitsC: [lowC, highC] }: PowerHours, hour: number): boolean {
  const celsius = batteryC[hour] ?? null;
  return celsius !== null && (celsius <= lowC || celsius >= highC);
}
