import { DAY_MS, HOUR_MS } from '@duskline/domain';
import { given } from './given.ts';
import type { PowerHours } from './power-hours.ts';
import { snowLying } from './snow-lying.ts';

/** What one solar day of a node's power shows. Energies in Wh, shares 0–1. */
export interface DaySigns {
  readonly day: number;
  readonly heardHours: number;
  /** Cloudless harvest of the hours in which the battery could take it, and what came. */
  readonly openExpectedWh: number;
  readonly openGotWh: number;
  /** openGot ÷ openExpected; undefined when the open hours hold less than 15 % of the day. */
  readonly yieldIndex?: number;
  /** The same against the median of the other sites on that day. */
  readonly relativeYield?: number;
  /** Of the daylight hours heard: battery full or nearly, so that the panel was held back. */
  readonly fullShare: number;
  readonly coldHours: number;
  readonly hotHours: number;
  /** Of the daylight hours with a panel voltage: it was there. */
  readonly voltageShare?: number;
  /** Of the open daylight hours: some power came. */
  readonly powerShare?: number;
  /** Times the power went from something to nothing or back between two bright open hours. */
  readonly flips: number;
  /** Centre of the harvest minus the centre of what was expected, h; positive = later. */
  readonly centroidShiftH?: number;
  readonly meanLoadW?: number;
  readonly rainMm?: number;
  /** The most snow that may have lain on the panel in a daylight hour, mm of water. */
  readonly snowMm?: number;
  readonly meanBoxRhPercent?: number;
}

/** Days of local mean solar time since 1970. */
export const solarDayNumber = (atMs: number, longitudeDeg: number): number =>
  Math.floor((atMs + (longitudeDeg / 15) * HOUR_MS) / DAY_MS);

const DAYLIGHT_SHARE = 0.1;
/** A daylight hour is one in which a tenth of the brightest hour of the record could come in. */
export const isDaylight = (expectedW: number, brightestW: number): boolean =>
  expectedW > 0 && expectedW >= DAYLIGHT_SHARE * brightestW;

/** From here the charger may hold back (project choice). */
export const OPEN_BELOW_RATIO = 0.9;
/** A panel that gives less is parted from its gauge, or it is night. */
export const THERE_V = 3;
/** Less than this of the cloudless harvest is nothing: an overcast noon still gives a twentieth. */
export const NOTHING = 0.012;

/** Days in order; days without any daylight hour heard are absent. */
export function readDays(hours: PowerHours): readonly DaySigns[] {
  const brightestW = Math.max(0, ...hours.expectedW);
  const snowMm = snowLying(hours.airC, hours.rainMm);
  const byDay = new Map<number, number[]>();
  for (let i = 0; i < hours.expectedW.length; i++) {
    const day = solarDayNumber(hours.startMs + (i + 0.5) * HOUR_MS, hours.longitudeDeg);
    const known = byDay.get(day);
    if (known === undefined) byDay.set(day, [i]);
    else known.push(i);
  }
  return [...byDay].flatMap(([day, indices]) => {
    const signs = readDay(hours, {
      ...{ day, indices, snowMm, brightestW },
    });
    return signs === undefined ? [] : [signs];
  });
}

interface DayHours {
  readonly day: number;
  readonly indices: readonly number[];
  readonly snowMm: readonly (number | null)[];
  readonly brightestW: number;
}

function readDay(
  hours: PowerHours,
  { day, indices, snowMm, brightestW }: DayHours,
): DaySigns | undefined {
  const [lowC, highC] = hours.chargeLimitsC;
  const sums = { openExpectedWh: 0, openGotWh: 0, wholeWh: 0, got: 0, gotAt: 0, expectedAt: 0 };
  const counts = { heard: 0, daylight: 0, full: 0, cold: 0, hot: 0, open: 0, some: 0, flips: 0 };
  const volts = { there: 0, known: 0 };
  let wasSome: boolean | undefined;
  const lit: number[] = [];
  for (const i of indices) {
    const expectedW = hours.expectedW[i] ?? 0;
    sums.wholeWh += expectedW;
    const panelW = hours.panelW[i] ?? null;
    if (panelW !== null || hours.loadW[i] != null || hours.chargeRatio[i] != null) counts.heard++;
    if (!isDaylight(expectedW, brightestW)) continue;
    lit.push(i);
    const panelV = hours.panelV[i] ?? null;
    if (panelV !== null) {
      volts.known++;
      if (panelV > THERE_V) volts.there++;
    }
    if (panelW === null) continue;
    counts.daylight++;
    const full = (hours.chargeRatio[i] ?? 0) >= OPEN_BELOW_RATIO;
    const batteryC = hours.batteryC[i] ?? null;
    const cold = batteryC !== null && batteryC <= lowC;
    const hot = batteryC !== null && batteryC >= highC;
    if (full) counts.full++;
    if (cold) counts.cold++;
    if (hot) counts.hot++;
    if (full || cold || hot) continue;
    counts.open++;
    sums.openExpectedWh += expectedW;
    sums.openGotWh += panelW;
    sums.got += panelW;
    sums.gotAt += panelW * i;
    sums.expectedAt += expectedW * i;
    const some = panelW > NOTHING * expectedW;
    if (some) counts.some++;
    if (wasSome !== undefined && wasSome !== some) counts.flips++;
    wasSome = some;
  }
  if (counts.daylight === 0 && volts.known === 0 && counts.heard === 0) return undefined;
  const yieldIndex =
    sums.openExpectedWh > 0 && sums.openExpectedWh >= 0.15 * sums.wholeWh
      ? sums.openGotWh / sums.openExpectedWh
      : undefined;
  const peer = hours.peerYield?.get(day);
  const wholeDayOpen = sums.openExpectedWh >= 0.8 * sums.wholeWh;
  return {
    day,
    heardHours: counts.heard,
    openExpectedWh: sums.openExpectedWh,
    openGotWh: sums.openGotWh,
    fullShare: counts.daylight === 0 ? 0 : counts.full / counts.daylight,
    coldHours: counts.cold,
    hotHours: counts.hot,
    flips: counts.flips,
    ...given('yieldIndex', yieldIndex),
    ...given(
      'relativeYield',
      yieldIndex !== undefined && peer !== undefined && peer > 0.03 ? yieldIndex / peer : undefined,
    ),
    ...given('voltageShare', volts.known < 3 ? undefined : volts.there / volts.known),
    ...given('powerShare', counts.open < 3 ? undefined : counts.some / counts.open),
    ...given(
      'centroidShiftH',
      wholeDayOpen && sums.got > 0.35 * sums.openExpectedWh
        ? sums.gotAt / sums.got - sums.expectedAt / sums.openExpectedWh
        : undefined,
    ),
    ...given('meanLoadW', mean(hours.loadW, indices)),
    ...given('rainMm', sum(hours.rainMm, indices)),
    ...given('snowMm', most(snowMm, lit)),
    ...given('meanBoxRhPercent', mean(hours.boxRhPercent, indices)),
  };
}

type Series = readonly (number | null)[];

const known = (series: Series, indices: readonly number[]): number[] =>
  indices.flatMap((i) => series[i] ?? []);

function sum(series: Series, indices: readonly number[]): number | undefined {
  const values = known(series, indices);
  return values.length === 0 ? undefined : values.reduce((a, b) => a + b, 0);
}

function mean(series: Series, indices: readonly number[]): number | undefined {
  const values = known(series, indices);
  return values.length < 6 ? undefined : values.reduce((a, b) => a + b, 0) / values.length;
}

function most(series: Series, indices: readonly number[]): number | undefined {
  const values = known(series, indices);
  return values.length === 0 ? undefined : Math.max(...values);
}
