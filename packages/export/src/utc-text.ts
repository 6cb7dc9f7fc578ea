/** `2026-11-25 12:00:00.5+00` of the database as RFC 3339: `2026-11-25T12:00:00.5Z`. */
export const utcText = (database: string): string =>
  `${database.slice(0, 10)}T${database.slice(11, -3)}Z`;

/** RFC 3339 in UTC, milliseconds only where there are some. */
export const instantText = (ms: number): string => new Date(ms).toISOString().replace('.000Z', 'Z');

/** Microseconds since 1970 of an RFC 3339 text in UTC; exact for all years that may occur. */
export function microsOf(utc: string): number {
  const point = utc.indexOf('.');
  if (point < 0) return Date.parse(utc) * 1000;
  const fraction = utc.slice(point + 1, -1).padEnd(6, '0');
  return Date.parse(`${utc.slice(0, point)}Z`) * 1000 + Number(fraction);
}
