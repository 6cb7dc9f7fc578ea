import type { ShadeMapJson } from '@duskline/contract';
import { DAY_MS, MINUTE_MS, type Position } from '@duskline/domain';
import { sunPosition } from '@duskline/energy';
import type { LearntSite } from '@duskline/forecast';

/** As the bins of the lesson are wide. */
const BIN_DEG = 15;
const STEP_MS = 10 * MINUTE_MS;
/** Any year does: the sun's way differs by tenths of a degree. */
const YEAR = 2026;
const DAYS_SHOWN = ['01-21', '02-20', '03-20', '04-20', '05-21', '06-21', '07-21', '08-21'].concat(
  '09-22',
  '10-22',
  '11-21',
  '12-21',
);

/**
 * The learnt shade on the way the sun takes through the year. True elevations, without refraction: at 5° it lifts the sun by
 * 0.16°, less than a line is wide.
 */
export function shadeMap(
  shade: LearntSite['panel']['shade'],
  { latitudeDeg, longitudeDeg }: Position,
): ShadeMapJson {
  const extents = new Map<string, readonly [number, number]>();
  const wayOf = (dayMs: number): readonly (readonly [number, number])[] =>
    Array.from({ length: DAY_MS / STEP_MS }, (_, i) => {
      const { azimuthDeg, zenithDeg } = sunPosition(dayMs + i * STEP_MS, latitudeDeg, longitudeDeg);
      return [azimuthDeg, 90 - zenithDeg] as const;
    }).filter(([, elevationDeg]) => elevationDeg > 0);

  for (const season of new Set(shade.map((bin) => bin.season)))
    for (let day = 0; day <= 60; day += 6)
      for (const [azimuthDeg, elevationDeg] of wayOf(Date.UTC(YEAR, season * 2, 1 + day))) {
        const key = `${season} ${Math.floor(azimuthDeg / BIN_DEG) * BIN_DEG}`;
        const [low, high] = extents.get(key) ?? [90, 0];
        extents.set(key, [Math.min(low, elevationDeg), Math.max(high, elevationDeg)]);
      }

  return {
    bins: shade.flatMap(({ season, azimuthDeg, shadeRatio, hours }) => {
      const extent = extents.get(`${season} ${azimuthDeg}`);
      if (extent === undefined) return [];
      const [lowDeg, highDeg] = extent.map(tenth) as [number, number];
      return [{ season, azimuthDeg, lowDeg, highDeg, shadeRatio, hours }];
    }),
    paths: DAYS_SHOWN.map((on) => {
      const [month = 1, day = 1] = on.split('-').map(Number);
      // In order of azimuth: a path cut by midnight UTC would else be drawn backwards.
      const way = [...wayOf(Date.UTC(YEAR, month - 1, day))].sort(([a], [b]) => a - b);
      return {
        on,
        azimuthDeg: way.map(([azimuthDeg]) => tenth(azimuthDeg)),
        elevationDeg: way.map(([, elevationDeg]) => tenth(elevationDeg)),
      };
    }),
  };
}

const tenth = (value: number): number => Math.round(value * 10) / 10;
