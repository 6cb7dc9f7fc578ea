/** An instant as RFC 3339 in UTC. @param atMs Unix ms */
export const instant = (atMs: number): string => new Date(atMs).toISOString();

/** The same, or null where there is none. */
export const instantOrNull = (atMs: number | undefined): string | null =>
  atMs === undefined ? null : instant(atMs);
