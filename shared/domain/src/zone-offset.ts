/** A formatter costs more than what it formats: one per zone is kept. */
const kept = new Map<string, Intl.DateTimeFormat>();

function offsetFormat(timeZone: string): Intl.DateTimeFormat {
  const known = kept.get(timeZone);
  if (known !== undefined) return known;
  const made = new Intl.DateTimeFormat('en-GB', { timeZone, timeZoneName: 'longOffset' });
  kept.set(timeZone, made);
  return made;
}

/**
 * Minutes a zone is ahead of UTC at an instant.
 *
 * @throws RangeError when there is no such zone
 */
export function offsetMin(atMs: number, timeZone: string): number {
  const name = offsetFormat(timeZone)
    .formatToParts(atMs)
    .find((part) => part.type === 'timeZoneName')?.value;
  const [, sign, hours, minutes] = /GMT([+-])(\d+):(\d+)/.exec(name ?? '') ?? [];
  return (sign === '-' ? -1 : 1) * (Number(hours ?? 0) * 60 + Number(minutes ?? 0));
}

/** "UTC", "UTC+1", "UTC−3:30": what every time says that a person reads. */
export function offsetText(atMs: number, timeZone: string): string {
  const total = offsetMin(atMs, timeZone);
  if (total === 0) return 'UTC';
  const hours = Math.floor(Math.abs(total) / 60);
  const minutes = Math.abs(total) % 60;
  const tail = minutes === 0 ? '' : `:${String(minutes).padStart(2, '0')}`;
  return `UTC${total < 0 ? '−' : '+'}${hours}${tail}`;
}
