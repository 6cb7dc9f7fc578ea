import { HOUR_MS, type Position } from '@duskline/domain';
import {
  apparentElevationDeg,
  clearSky,
  DEFAULT_LINKE_TURBIDITY,
  extraterrestrialNormalWm2,
  pressurePa,
  solarDayStartMs,
  sunPosition,
} from '@duskline/energy';
import type { ClearnessYield } from './clearness-yield.ts';
import type { OutsideForecast, OutsideMember } from './outside-forecast.ts';

const DAY_MS = 24 * HOUR_MS;
/** A day is told by a forecast that covers this share of its light (today: of the light still to come). */
const LEAST_SHARE = 0.5;
const PARTS_PER_HOUR = 2;

/** Clear-sky index under a share of cloud. @source Kasten & Czeplak 1980, Solar Energy 24:177 */
export const indexUnderCloud = (cloudRatio: number): number =>
  1 - 0.75 * Math.min(1, Math.max(0, cloudRatio)) ** 3.4;

/** Level irradiance of cloudless hours at one place, each worked out once. */
export type CloudlessHours = (hourMs: number) => number;

/** @returns mean W/m² of the hour that starts at an instant */
export function cloudlessHours(position: Position): CloudlessHours {
  const { latitudeDeg, longitudeDeg, elevationM } = position;
  const airPressurePa = pressurePa(elevationM);
  const known = new Map<number, number>();
  return (hourMs) => {
    const before = known.get(hourMs);
    if (before !== undefined) return before;
    let sum = 0;
    for (let part = 0; part < PARTS_PER_HOUR; part++) {
      const atMs = hourMs + ((part + 0.5) * HOUR_MS) / PARTS_PER_HOUR;
      const { zenithDeg } = sunPosition(atMs, latitudeDeg, longitudeDeg);
      if (zenithDeg > 91) continue;
      sum += clearSky({
        apparentZenithDeg: 90 - apparentElevationDeg(90 - zenithDeg, airPressurePa, 15),
        elevationM,
        linkeTurbidity: DEFAULT_LINKE_TURBIDITY,
        extraterrestrialWm2: extraterrestrialNormalWm2(atMs),
      }).ghiWm2;
    }
    known.set(hourMs, sum / PARTS_PER_HOUR);
    return sum / PARTS_PER_HOUR;
  };
}

/**
 * The yield ratio that each member of an outside forecast foretells, day by day.
 *
 * Irradiance over a cloudless sky's in the hours the forecast covers, then the physics of the panel; cloud cover where there is
 * no irradiance.
 *
 * @param at.startMs  an instant in solar day 0
 * @param at.yields   knows all the days of the forecast
 * @returns by member, then by solar day; days not foretold are left out
 */
export function outsideYield(
  forecast: OutsideForecast,
  at: {
    readonly position: Position;
    readonly startMs: number;
    readonly yields: ClearnessYield;
    readonly cloudless: CloudlessHours;
  },
): readonly ReadonlyMap<number, number>[] {
  const zeroMs = solarDayStartMs(at.startMs, at.position.longitudeDeg);
  return forecast.members.map((member) => {
    const foretold = new Map<number, number>();
    for (const [day, { levelWh, clearWh, dayWh }] of sumsByDay(forecast, member, { ...at, zeroMs }))
      if (clearWh > 0 && clearWh >= LEAST_SHARE * dayWh) {
        const index = levelWh / clearWh;
        foretold.set(day, at.yields.ratio(day, index * at.yields.cloudless(day)));
      }
    return foretold;
  });
}

interface DaySums {
  levelWh: number;
  clearWh: number;
  /** Light of the day from the start of the forecast on. */
  dayWh: number;
}

function sumsByDay(
  { startMs, stepMs }: OutsideForecast,
  member: OutsideMember,
  at: { readonly zeroMs: number; readonly cloudless: CloudlessHours },
): ReadonlyMap<number, DaySums> {
  const days = new Map<number, DaySums>();
  const steps = Math.max(member.ghiWm2?.length ?? 0, member.cloudRatio?.length ?? 0);
  const firstHourMs = Math.round(startMs / HOUR_MS) * HOUR_MS;
  const hoursPerStep = Math.max(1, Math.round(stepMs / HOUR_MS));
  const dayOf = (hourMs: number): number => Math.floor((hourMs + HOUR_MS / 2 - at.zeroMs) / DAY_MS);
  for (let step = 0; step < steps; step++) {
    const ghi = member.ghiWm2?.[step] ?? null;
    const cloud = member.cloudRatio?.[step] ?? null;
    if (ghi === null && cloud === null) continue;
    const hours = Array.from(
      { length: hoursPerStep },
      (_, hour) => firstHourMs + (step * hoursPerStep + hour) * HOUR_MS,
    );
    const clear = hours.map((hourMs) => at.cloudless(hourMs));
    const clearWh = clear.reduce((sum, value) => sum + value, 0);
    if (clearWh === 0) continue;
    const index = ghi === null ? indexUnderCloud(cloud!) : (ghi * hoursPerStep) / clearWh;
    hours.forEach((hourMs, i) => {
      const day = dayOf(hourMs);
      const sums = days.get(day) ?? { levelWh: 0, clearWh: 0, dayWh: lightFrom(day) };
      sums.levelWh += index * clear[i]!;
      sums.clearWh += clear[i]!;
      days.set(day, sums);
    });
  }
  return days;

  function lightFrom(day: number): number {
    const dayMs = Math.ceil((at.zeroMs + day * DAY_MS) / HOUR_MS) * HOUR_MS;
    let light = 0;
    for (let hourMs = Math.max(dayMs, firstHourMs); hourMs < dayMs + DAY_MS; hourMs += HOUR_MS)
      light += at.cloudless(hourMs);
    return light;
  }
}
