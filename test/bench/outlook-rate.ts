import { DAY_MS, HOUR_MS, type HourlyHistory, type PowerSystem } from '@duskline/domain';
import { referenceHourlyWh } from '@duskline/energy';
import { forecastNode } from '@duskline/forecast';

const HOURS = 60 * 24;

/** Milliseconds for one outlook of a node with sixty days of hourly past: 500 paths over 30 days (median of the runs). */
export function measureOutlook(runs: number): {
  readonly medianMs: number;
  readonly maxMs: number;
} {
  const nowMs = Date.UTC(2026, 10, 25);
  const position = { latitudeDeg: 54.9, longitudeDeg: -2.9, elevationM: 200 };
  const power: PowerSystem = {
    panel: { ratedW: 20, tiltDeg: 65, azimuthDeg: 180 },
    battery: { chemistry: 'lifepo4', ratedWh: 150, seriesCells: 4 },
    charger: 'mppt',
    shutDownRatio: 0.1,
    restartRatio: 0.5,
    offStateDrawW: 0.1,
    usualGapS: 30,
  };
  const startMs = nowMs - 60 * DAY_MS;
  const clear = referenceHourlyWh({ position, panel: power.panel, startMs, hours: HOURS });
  const hourly = (value: (hour: number) => number) =>
    Array.from({ length: HOURS }, (_, hour) => value(hour));
  const history: HourlyHistory = {
    startMs,
    panelW: hourly(
      (hour) => (clear[hour] ?? 0) * (0.35 + 0.3 * Math.sin(Math.floor(hour / 24) * 1.7)),
    ),
    loadW: hourly((hour) => 0.9 + 0.1 * Math.sin((hour / 24) * 2 * Math.PI)),
    chargeRatio: hourly((hour) => 0.6 + 0.1 * Math.sin(hour / 60)),
    batteryV: hourly(() => 13.1),
    batteryA: hourly(() => 0),
    batteryC: hourly(() => 8),
    airC: hourly(() => 7),
  };
  const times: number[] = [];
  for (let run = 0; run < runs; run++) {
    const startedMs = performance.now();
    const outlook = forecastNode({
      nowMs,
      seed: run,
      position,
      power,
      history,
      charge: {
        ratio: 0.6,
        lowRatio: 0.55,
        highRatio: 0.65,
        method: 'gauge',
        observedAtMs: nowMs - HOUR_MS / 60,
      },
    });
    times.push(performance.now() - startedMs);
    if (outlook.kind === 'insufficient-data') throw new Error('the bench node has too little data');
  }
  times.sort((a, b) => a - b);
  return { medianMs: times[Math.floor(runs / 2)] ?? 0, maxMs: times.at(-1) ?? 0 };
}
