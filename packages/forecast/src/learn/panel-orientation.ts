import { HOUR_MS, type Position, type PowerSystem } from '@duskline/domain';
import {
  apparentElevationDeg,
  clearSky,
  DEFAULT_LINKE_TURBIDITY,
  extraterrestrialNormalWm2,
  incidenceCosine,
  pressurePa,
  sunPosition,
} from '@duskline/energy';
import { bestFacing, type Facing, fitOf, misfit, reach, type SunHour } from './facing-fit.ts';
import type { HarvestHours } from './harvest-hours.ts';
import { FREE } from './hour-flags.ts';
import type { Learnt, LearntPanel, Sureness } from './learnt-site.ts';
import type { PastHours } from './past-hours.ts';
import { percentile } from './robust.ts';

const LEAST_DAYS = 5;
const MOST_DAYS = 20;
const LEAST_HOURS = 6;
/** Lower sun is all horizon and haze. */
const LEAST_ELEVATION_DEG = 8;
/**
 * A clear day's curve bends no more than this many times a half wave of its length: 0.1 to 3.7 for panels of any facing through the
 * year at 54°; hours of passing cloud bend it ten times and more.
 */
const MOST_BEND = 3.5;
/** Smooth days much poorer than the best are overcast ones. Generous, for a season alone changes this much within two months. */
const LEAST_SHARE_OF_BEST = 0.7;
/** The same once a facing explains the season: what is poorer was haze or thin cloud, which flattens the day's curve. */
const LEAST_SHARE_OF_SCALE = 0.9;
/** A panel that gives less of its plate than this on its clearest days saw none that was clear, or no full sun: monsoon, fog. */
const LEAST_OF_PLATE = 0.55;
const BEST_SHARE = 0.9;
/** With more than this times a clean sky's light from the whole sky these were no clear days. Assumption, no source. */
const MOST_HAZE = 2.5;
/** Fits worse than this (of the power's root mean square) explain nothing. */
const WORST_FIT = 0.1;
/** Angles at which the fit is this much worse are no longer believed. Assumption, no source. */
const BAND_WORSE = 1.2;

/**
 * Where the panel really faces, from the shape of its clear days: the tilt and azimuth whose cloudless power follows the hours
 * best, one scale for all. First on a grid of ten degrees, then by halving steps to one; then once more without the days that
 * this facing shows to have been dull. Where the facing that was entered explains the days as well, it stands: only days that
 * contradict the builder turn the panel.
 *
 * Clear days are told without any orientation: a smooth curve, and bright against the level irradiance.
 *
 * @param past  yardstick unused; flags say which hours were free
 * @returns undefined with fewer than five clear days, or when no orientation explains them
 * @source ours: project research note §8.4; the sky model is that of the yardstick
 */
export function panelOrientation(
  past: PastHours,
  harvest: HarvestHours,
  facts: {
    readonly flags: Uint8Array;
    readonly position: Position;
    /** As the builder entered it. */
    readonly panel: PowerSystem['panel'];
  },
): LearntPanel['orientation'] {
  if (harvest.from !== 'panel' && harvest.from !== 'current') return undefined;
  const smooth = clearestDays(past, harvest, facts);
  if (smooth.length < LEAST_DAYS) return undefined;
  const days = withoutDull(smooth, bestFacing(smooth.flat()));
  if (days.length < LEAST_DAYS) return undefined;
  const hours = days.flat();
  const found = bestFacing(hours);
  const { misfit: fit, haze, scaleW } = fitOf(hours, found);
  const isClear = haze <= MOST_HAZE && scaleW >= LEAST_OF_PLATE * facts.panel.ratedW;
  if (fit > WORST_FIT || !isClear) return undefined;
  const worst = BAND_WORSE * fit + 0.005;
  const { tiltDeg: toldTilt, azimuthDeg: toldAzimuth } = facts.panel;
  const told = { tiltDeg: toldTilt, azimuthDeg: toldAzimuth };
  const isAsTold = misfit(hours, told) <= worst;
  const best = isAsTold ? told : found;
  const sureness: Sureness = days.length < 8 ? 'weak' : days.length < 15 ? 'fair' : 'firm';
  const learnt = (value: number, half: number): Learnt => ({
    value,
    low: value - half,
    high: value + half,
    unit: '°',
    fromDays: days.length,
    sureness,
    how: isAsTold
      ? `The shape of ${days.length} clear days agrees with the tilt and azimuth entered.`
      : `The shape of ${days.length} clear days; no other tilt and azimuth follows their hours as well.`,
  });
  const tilt = reach(hours, best, worst, 'tiltDeg');
  const azimuth = reach(hours, best, worst, 'azimuthDeg');
  return {
    tiltDeg: learnt(best.tiltDeg, tilt),
    azimuthDeg: learnt(best.azimuthDeg, azimuth),
  };
}

function clearestDays(
  past: PastHours,
  harvest: HarvestHours,
  { flags, position }: { readonly flags: Uint8Array; readonly position: Position },
): readonly (readonly SunHour[])[] {
  const byDay = new Map<number, SunHour[]>();
  const broken = new Set<number>();
  for (const { from, to } of past.spans)
    for (let i = from; i < to; i++) {
      const hour = sunHour(past.history.startMs + (i + 0.5) * HOUR_MS, position);
      if (hour === undefined) continue;
      const day = past.day[i]!;
      if (flags[i] !== FREE) {
        broken.add(day);
        continue;
      }
      const hours = byDay.get(day) ?? [];
      hours.push({ ...hour, powerW: Math.max(0, harvest.harvestW[i]!) });
      byDay.set(day, hours);
    }
  const smooth = [...byDay]
    .filter(([day, hours]) => !broken.has(day) && hours.length >= LEAST_HOURS && isSmooth(hours))
    .map(([, hours]) => ({
      hours,
      brightness: sumOf(hours, (one) => one.powerW) / sumOf(hours, (one) => one.sky.ghiWm2),
    }));
  const best = smooth.reduce((most, { brightness }) => Math.max(most, brightness), 0);
  return smooth
    .filter(({ brightness }) => best > 0 && brightness >= LEAST_SHARE_OF_BEST * best)
    .sort((a, b) => b.brightness - a.brightness)
    .slice(0, MOST_DAYS)
    .map(({ hours }) => hours);
}

function isSmooth(hours: readonly SunHour[]): boolean {
  let bend = 0;
  for (let i = 1; i + 1 < hours.length; i++)
    bend += Math.abs(hours[i - 1]!.powerW - 2 * hours[i]!.powerW + hours[i + 1]!.powerW);
  const halfWave = 2 - 2 * Math.cos(Math.PI / (hours.length + 1));
  return bend <= MOST_BEND * halfWave * sumOf(hours, (one) => one.powerW);
}

function sunHour(atMs: number, position: Position): Omit<SunHour, 'powerW'> | undefined {
  const { latitudeDeg, longitudeDeg, elevationM } = position;
  const trueSun = sunPosition(atMs, latitudeDeg, longitudeDeg);
  const elevationDeg = apparentElevationDeg(90 - trueSun.zenithDeg, pressurePa(elevationM), 15);
  if (elevationDeg < LEAST_ELEVATION_DEG) return undefined;
  const extraterrestrialWm2 = extraterrestrialNormalWm2(atMs);
  const sky = clearSky({
    apparentZenithDeg: 90 - elevationDeg,
    elevationM,
    linkeTurbidity: DEFAULT_LINKE_TURBIDITY,
    extraterrestrialWm2,
  });
  const sun = { zenithDeg: 90 - elevationDeg, azimuthDeg: trueSun.azimuthDeg };
  return { sun, sky, extraterrestrialWm2 };
}

/** The days on which the panel, facing so, gave nearly what it gave on its best: the others were hazy or overcast, however smooth. */
function withoutDull(
  days: readonly (readonly SunHour[])[],
  facing: Facing,
): readonly (readonly SunHour[])[] {
  const scales = days.map((hours) => fitOf(hours, facing).scaleW);
  const best = percentile(scales, BEST_SHARE);
  return days.filter((_, index) => scales[index]! >= LEAST_SHARE_OF_SCALE * best);
}

const sumOf = (hours: readonly SunHour[], of: (hour: SunHour) => number): number =>
  hours.reduce((sum, hour) => sum + of(hour), 0);

/** Turned by less than this, or with fewer clear days, the builder's word stands. */
const LEAST_TURN_DEG = 15;

/** The panel as it really stands, where that was learnt well enough and differs from what the builder entered. */
export function panelAsLearnt(
  panel: PowerSystem['panel'],
  orientation: LearntPanel['orientation'],
): PowerSystem['panel'] {
  if (orientation === undefined || orientation.tiltDeg.sureness === 'weak') return panel;
  const learnt = {
    tiltDeg: Math.min(90, Math.max(0, orientation.tiltDeg.value)),
    azimuthDeg: orientation.azimuthDeg.value,
  };
  return turnDeg(panel, learnt) < LEAST_TURN_DEG ? panel : { ...panel, ...learnt };
}

/** Angle between the two panels' faces, degrees. */
export function turnDeg(a: Facing, b: Facing): number {
  const cosine = incidenceCosine({
    sunZenithDeg: a.tiltDeg,
    sunAzimuthDeg: a.azimuthDeg,
    tiltDeg: b.tiltDeg,
    azimuthDeg: b.azimuthDeg,
  });
  return (Math.acos(Math.min(1, Math.max(-1, cosine))) * 180) / Math.PI;
}
