import { HOUR_MS, type HourlyHistory, type PowerSystem } from '@duskline/domain';
import {
  cellTemperatureC,
  extraterrestrialNormalWm2,
  planeOfArray,
  splitErbs,
  sunPosition,
} from '@duskline/energy';
import type { OpenWeather } from './open-weather.ts';

/** A node made of real irradiance: what it truly did, and what it reported. */
export interface TruthNode {
  readonly power: PowerSystem;
  /** True energy between empty and full, Wh. */
  readonly capacityWh: number;
  readonly hours: number;
  readonly history: HourlyHistory;
  /** Charge at the start of each hour. */
  readonly chargeRatio: Float64Array;
  readonly isDark: Uint8Array;
  /** Hours from the record's start at which it stopped, and came back; a stop and its return share an index. */
  readonly stops: readonly number[];
  readonly returns: readonly number[];
}

/** A size: energy of the panel over the load in the worst month, and days the battery carries the load alone. */
export interface Design {
  readonly arrayToLoad: number;
  readonly autonomyDays: number;
}

const LOAD_W = 1.5;
const LOAD_SWING = 0.25;
const LOAD_MEMORY = 0.7;
const LOAD_SIGMA = 0.1;
const CHARGE_EFFICIENCY = 0.95;
const SHUT_DOWN = 0.1;
const RESTART = 0.9;
const OFF_STATE_W = 0.05;
const WIND_MS = 1.5;

/** Mean power of one rated watt in each hour: Erbs, Hay-Davies at |latitude| + 15°, Faiman, −0.4 %/K, 15 % lost. */
export function powerPerRatedWatt(weather: OpenWeather, tiltErrorDeg = 0): Float64Array {
  const { latitudeDeg, longitudeDeg, startMs, ghiWm2, airC } = weather;
  const told = surfaceOf(weather);
  const surface = { ...told, tiltDeg: Math.max(0, told.tiltDeg + tiltErrorDeg) };
  return ghiWm2.map((ghi, i) => {
    const atMs = startMs + (i + 0.5) * HOUR_MS;
    const sun = sunPosition(atMs, latitudeDeg, longitudeDeg);
    if (sun.zenithDeg >= 90 || ghi <= 0) return 0;
    const extraterrestrialWm2 = extraterrestrialNormalWm2(atMs);
    const split = splitErbs({ ghiWm2: ghi, zenithDeg: sun.zenithDeg, extraterrestrialWm2 });
    const poaWm2 = planeOfArray({
      sun,
      surface,
      ghiWm2: ghi,
      dniWm2: split.dniWm2,
      dhiWm2: split.dhiWm2,
      extraterrestrialWm2,
      albedo: 0.2,
    }).totalWm2;
    const cellC = cellTemperatureC({ airC: airC[i]!, poaWm2, windMs: WIND_MS });
    return (0.85 * poaWm2 * (1 - 0.004 * (cellC - 25))) / 1000;
  });
}

const surfaceOf = ({ latitudeDeg }: OpenWeather) => ({
  tiltDeg: Math.min(75, Math.abs(latitudeDeg) + 15),
  azimuthDeg: latitudeDeg >= 0 ? 180 : 0,
});

/** Lowest monthly mean of daily energy, over all the years of the record, Wh per rated W. */
function worstMonthWh(weather: OpenWeather, perWatt: Float64Array): number {
  const sums = new Float64Array(12);
  const hours = new Float64Array(12);
  perWatt.forEach((power, i) => {
    const month = new Date(weather.startMs + i * HOUR_MS).getUTCMonth();
    sums[month] = sums[month]! + power;
    hours[month] = hours[month]! + 1;
  });
  return Math.min(...Array.from(sums, (sum, month) => (sum / hours[month]!) * 24));
}

/** What the builder does not know of the node: true over told. */
export interface Hidden {
  /** 0.6–1.0: what the panel gives against its plate. */
  readonly panelScale: number;
  /** 0.7–1.0: what the battery holds against its plate. */
  readonly capacityScale: number;
  /** Standard deviation of each reported charge. */
  readonly chargeSigma: number;
}

export const NOTHING_HIDDEN: Hidden = { panelScale: 1, capacityScale: 1, chargeSigma: 0 };

/** The battery stands at the temperature its plate refers to: this truth knows no cold. */
const BATTERY_C = 25;

/**
 * Lives a node of the given size through the record. Its panel is held back when the battery is full, so that its panel
 * reading is censored; while dark it reports nothing. The walk is written apart from `@duskline/energy`'s balance, on purpose.
 *
 * @param normal  a seeded source of standard normal deviates, for the day's load
 */
export function liveTruthNode(
  weather: OpenWeather,
  perWatt: Float64Array,
  options: {
    readonly design: Design;
    readonly normal: () => number;
    readonly hidden?: Hidden;
  },
): TruthNode {
  const hidden = options.hidden ?? NOTHING_HIDDEN;
  const { arrayToLoad, autonomyDays } = options.design;
  const ratedW = (arrayToLoad * LOAD_W * 24) / worstMonthWh(weather, perWatt);
  const capacityWh = (autonomyDays * LOAD_W * 24) / (1 - SHUT_DOWN);
  const hours = perWatt.length;
  const panelW: (number | null)[] = new Array<null>(hours).fill(null);
  const loadW: (number | null)[] = new Array<null>(hours).fill(null);
  const charge: (number | null)[] = new Array<null>(hours).fill(null);
  const batteryC: (number | null)[] = new Array<null>(hours).fill(null);
  const chargeRatio = new Float64Array(hours);
  const isDark = new Uint8Array(hours);
  const stops: number[] = [];
  const returns: number[] = [];
  let storedWh = capacityWh;
  let dark = false;
  let residual = 0;

  for (let i = 0; i < hours; i++) {
    if (i % 24 === 0)
      residual =
        LOAD_MEMORY * residual + Math.sqrt(1 - LOAD_MEMORY ** 2) * LOAD_SIGMA * options.normal();
    const swing = 1 + LOAD_SWING * Math.sin((2 * Math.PI * (i % 24)) / 24);
    const wantedW = dark ? OFF_STATE_W : LOAD_W * swing * Math.exp(residual);
    const availableW = ratedW * perWatt[i]!;
    const beforeWh = storedWh;
    const netWh = availableW - wantedW;
    const gainWh = netWh > 0 ? netWh * CHARGE_EFFICIENCY : netWh;
    storedWh = Math.min(capacityWh, Math.max(0, beforeWh + gainWh));
    chargeRatio[i] = beforeWh / capacityWh;
    isDark[i] = dark ? 1 : 0;
    if (!dark) {
      const takenWh = gainWh > 0 ? (storedWh - beforeWh) / CHARGE_EFFICIENCY : netWh;
      panelW[i] = wantedW + takenWh;
      loadW[i] = wantedW;
      const error = hidden.chargeSigma === 0 ? 0 : hidden.chargeSigma * options.normal();
      charge[i] = Math.min(1, Math.max(0, (beforeWh + storedWh) / 2 / capacityWh + error));
      batteryC[i] = BATTERY_C;
    }
    const levelWh = (dark ? RESTART : SHUT_DOWN) * capacityWh;
    if (dark ? storedWh >= levelWh : storedWh <= levelWh) {
      (dark ? returns : stops).push(i + (levelWh - beforeWh) / (storedWh - beforeWh));
      dark = !dark;
    }
  }
  const none: readonly null[] = new Array<null>(hours).fill(null);
  return {
    power: {
      panel: { ratedW: ratedW / hidden.panelScale, ...surfaceOf(weather) },
      battery: {
        chemistry: 'li-ion-nmc',
        ratedWh: capacityWh / hidden.capacityScale,
        seriesCells: 3,
      },
      // 0.97 in and 0.97 out of the cells make the round trip of this truth; nothing is lost on the way to the load.
      charger: 'direct',
      shutDownRatio: SHUT_DOWN,
      restartRatio: RESTART,
      offStateDrawW: OFF_STATE_W,
      usualGapS: 900,
    },
    capacityWh,
    hours,
    history: {
      startMs: weather.startMs,
      panelW,
      loadW,
      chargeRatio: charge,
      batteryV: none,
      batteryA: none,
      batteryC,
      airC: none,
    },
    chargeRatio,
    isDark,
    stops,
    returns,
  };
}
