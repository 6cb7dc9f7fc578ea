import type { CrossLimits, MetricKey, QualityTest } from '@duskline/domain';
import type { Assessment } from './assessed-sample.ts';
import { PASS, type TestResult } from './series.ts';
import type { Surroundings } from './surroundings.ts';

/** Holds the readings of one sample against each other and against the sun. What the sample lacks is not tested. */
export function checkAgainstOthers(
  assessment: Assessment,
  limits: CrossLimits,
  { sunElevationDeg }: Surroundings,
): void {
  const { observedAtMs } = assessment.sample;
  let elevationDeg: number | undefined;
  const isNight = (): boolean =>
    (elevationDeg ??= sunElevationDeg(observedAtMs)) < limits.nightBelowDeg;
  const check = (
    metric: MetricKey,
    test: QualityTest,
    judge: (value: number) => TestResult | undefined,
  ) => {
    const place = assessment.place(metric);
    const value = place === undefined ? undefined : assessment.sample.values[place];
    if (place === undefined || value === undefined) return;
    const result = judge(value);
    if (result !== undefined) assessment.add(place, test, result);
  };
  const over = (found: number, limit: number, flag: 3 | 4): TestResult =>
    found > limit ? { flag, found, limit } : PASS;
  const atNight = (limit: number, flag: 3 | 4) => (value: number) =>
    value > limit && isNight() ? { flag, found: value, limit } : PASS;

  check('panel_w', 'panel-power-at-night', atNight(limits.panelWAtNight, 4));
  check('panel_i', 'panel-power-at-night', atNight(limits.panelAAtNight, 4));
  check('panel_v', 'panel-voltage-at-night', atNight(limits.panelVAtNight, 3));
  check('dew_point', 'dew-point-above-air', (dewPointC) => {
    const airC = assessment.value('air_temp');
    return airC === undefined ? undefined : over(dewPointC - airC, limits.dewPointAboveAirC, 3);
  });
  check('wind_gust', 'gust-below-mean', (gustMs) => {
    const meanMs = assessment.value('wind_speed');
    return meanMs === undefined ? undefined : over(meanMs - gustMs, limits.gustBelowMeanMs, 3);
  });
  check('panel_i', 'current-without-light', (currentA) => {
    const sunlight = assessment.value('irradiance');
    if (sunlight === undefined) return undefined;
    return sunlight < limits.currentBelowWPerM2 ? over(currentA, limits.currentA, 3) : PASS;
  });
  check('rain', 'rain-in-dry-air', (rainMm) => {
    const humidity = assessment.value('rel_hum');
    if (humidity === undefined) return undefined;
    return humidity < limits.rainBelowRhPct ? over(rainMm, limits.rainMm, 3) : PASS;
  });
}
