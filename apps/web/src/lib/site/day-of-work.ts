/**
 * The instant that stands for a day of work, "2026-11-26": its noon UTC, but not later than now, and not before what went
 * before it that day. The day is all one writes on a box.
 */
export function dayOfWork(
  day: string,
  { nowMs, afterMs }: { readonly nowMs: number; readonly afterMs?: number },
): string {
  const noonMs = Date.parse(`${day}T12:00:00Z`);
  const sameDay = afterMs !== undefined && new Date(afterMs).toISOString().startsWith(day);
  return new Date(Math.min(nowMs, sameDay ? Math.max(noonMs, afterMs) : noonMs)).toISOString();
}
