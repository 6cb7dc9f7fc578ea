/** A figure for people: two digits that matter, no more than one behind the point, with its unit. */
export function sayAmount(value: number, unit: string): string {
  const digits = Math.abs(value) >= 10 ? 0 : 1;
  return `${value.toFixed(digits)} ${unit}`;
}

/** A share 0–1 in percent. */
export const sayPercent = (ratio: number): string => `${Math.round(100 * ratio)} %`;
