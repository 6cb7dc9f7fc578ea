/** The smallest that would do, rounded up so that it still does: "81 W" for 80.2 W, "3.2 W" for 3.14 W. */
export const sayAtLeast = (value: number, unit: string): string =>
  `${value < 10 ? (Math.ceil(value * 10) / 10).toFixed(1) : Math.ceil(value)} ${unit}`;
