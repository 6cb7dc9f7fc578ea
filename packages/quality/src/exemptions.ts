import type { MetricKey } from '@duskline/domain';
import type { SeriesPoint } from './series.ts';
import type { Surroundings } from './surroundings.ts';
import type { Exemption } from './tests/flat-line.ts';

/** Air this humid is saturated: hygrometers then stand still for days. */
const SATURATED_PCT = 98;
const CALM_MS = 0.5;
/** A vane needs this much wind to turn. */
const VANE_TURNS_MS = 2;
/** With the sun lower than this still light is real. */
const DAYLIGHT_DEG = 10;

/**
 * When a still reading is real: saturated air, calm, a vane without wind, dark. Rain has no flat-line test: dry is real.
 *
 * @source geovetarcentrum/climate-stations, README_QUALITY_CONTROL (plateaus of saturation and calm); thresholds are ours
 */
export function exemptionOf(
  key: MetricKey,
  series: readonly SeriesPoint[],
  {
    windAt,
    surroundings,
  }: { readonly windAt: (atMs: number) => number | undefined; readonly surroundings: Surroundings },
): Exemption {
  const every = (first: number, last: number, holds: (point: SeriesPoint) => boolean): boolean => {
    for (let i = last; i >= first; i -= 1) {
      const point = series[i];
      if (point !== undefined && !holds(point)) return false;
    }
    return true;
  };
  switch (key) {
    case 'rel_hum':
      return (first, last) =>
        every(first, last, ({ value }) => value === null || value >= SATURATED_PCT);
    case 'wind_speed':
    case 'wind_gust':
      return (first, last) => every(first, last, ({ value }) => value === null || value <= CALM_MS);
    case 'wind_dir':
      return (first, last) =>
        !every(first, last, ({ atMs }) => (windAt(atMs) ?? 0) > VANE_TURNS_MS);
    case 'irradiance':
    case 'lux':
      return (first, last) =>
        [first, last].some(
          (i) => surroundings.sunElevationDeg(series[i]?.atMs ?? 0) < DAYLIGHT_DEG,
        );
    default:
      return () => false;
  }
}
