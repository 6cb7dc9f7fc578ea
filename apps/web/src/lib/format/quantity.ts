import { metric, metricOf, sayDuration, SECOND_MS } from '@duskline/domain';

/** Between a number and its unit: never at the end of a line. The face has no narrow one. */
const SPACE = '\u00a0';
const MINUS = '\u2212';

const fixed = (value: number, decimals: number): string => {
  const text = value.toFixed(decimals);
  const zero = Number(text) === 0;
  return value < 0 && !zero ? MINUS + text.slice(1) : text.replace('-', '');
};

/** "42 %". */
export const percent = (ratio: number): string => `${fixed(ratio * 100, 0)}${SPACE}%`;

/** Half the width of a charge band, "± 6", in points. */
export const plusMinus = (lowRatio: number, highRatio: number): string =>
  `±${SPACE}${fixed(((highRatio - lowRatio) / 2) * 100, 0)}`;

/** A number with its unit: "12.4 Wh"; no unit, no space. */
export const withUnit = (value: number, unit: string, decimals = 1): string =>
  unit === '' ? fixed(value, decimals) : `${fixed(value, decimals)}${SPACE}${unit}`;

/** Nobody reads more seconds than this as seconds. */
const LONG_S = 120;

/** A value of a metric as people read it: its word where it is a code, else with the metric's decimals and unit. */
export function metricValue(key: string, value: number, unit: string): string {
  const known = metricOf(key);
  if (known === undefined) return withUnit(value, unit, 2);
  const { codes, decimals } = metric(known);
  if (unit === 's' && value >= LONG_S) return sayDuration(value * SECOND_MS);
  return codes?.[value] ?? withUnit(value, unit, decimals);
}
