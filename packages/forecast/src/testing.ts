import {
  type ChargeEstimate,
  type HourlyHistory,
  type Position,
  type PowerSystem,
} from '@duskline/domain';

/** A made-up node on a made-up moor, for tests: 10 W panel, 100 Wh battery, levels 10 and 90 %. */
export const moor: Position = { latitudeDeg: 54.5, longitudeDeg: 0, elevationM: 300 };

export const moorPower: PowerSystem = {
  panel: { ratedW: 10, tiltDeg: 60, azimuthDeg: 180 },
  battery: { chemistry: 'li-ion-nmc', ratedWh: 100, seriesCells: 3 },
  charger: 'mppt',
  shutDownRatio: 0.1,
  restartRatio: 0.9,
  offStateDrawW: 0.1,
  usualGapS: 900,
};

type Series = Exclude<keyof HourlyHistory, 'startMs'>;

/** A history of so many hours; series left out were never read. */
export function madeUpHistory(
  startMs: number,
  hours: number,
  series: Partial<Record<Series, (hour: number) => number | null>>,
): HourlyHistory {
  const fill = (name: Series): readonly (number | null)[] =>
    Array.from({ length: hours }, (_, hour) => series[name]?.(hour) ?? null);
  return {
    startMs,
    panelW: fill('panelW'),
    loadW: fill('loadW'),
    chargeRatio: fill('chargeRatio'),
    batteryV: fill('batteryV'),
    batteryA: fill('batteryA'),
    batteryC: fill('batteryC'),
    airC: fill('airC'),
  };
}

/** A charge known exactly. */
export const exactly = (ratio: number, observedAtMs: number): ChargeEstimate => ({
  ratio,
  lowRatio: ratio,
  highRatio: ratio,
  method: 'gauge',
  observedAtMs,
});
