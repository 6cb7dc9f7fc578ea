import { DAY_MS } from '@duskline/domain';

export const pauseEnds = ['morning', 'three', 'week'] as const;
export type PauseEnd = (typeof pauseEnds)[number];

const DAYS: Readonly<Record<PauseEnd, number>> = { morning: 1, three: 3, week: 7 };
const two = (value: number): string => String(value).padStart(2, '0');

/** `2026-11-27T07:00` on this device's clock, as a date-and-time field wants it. */
export const fieldTime = (at: Date): string =>
  `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())}T${two(at.getHours())}:${two(at.getMinutes())}`;

/** When a pause of this kind ends: always at a time somebody is up, 07:00 on this device's clock. */
export function pauseEndAt(end: PauseEnd, nowMs: number): Date {
  const day = new Date(nowMs);
  return new Date(day.getFullYear(), day.getMonth(), day.getDate() + DAYS[end], 7);
}

/** What is wrong with what a date-and-time field holds. */
export function faultOfPauseEnd(
  field: string,
  nowMs: number,
  longestDays: number,
): 'missing' | 'past' | 'too-far' | undefined {
  const aheadMs = new Date(field).getTime() - nowMs;
  if (Number.isNaN(aheadMs)) return 'missing';
  if (aheadMs <= 0) return 'past';
  return aheadMs > longestDays * DAY_MS ? 'too-far' : undefined;
}

/** What a date-and-time field holds, as an instant; undefined when it is empty, past, or too far ahead. */
export function readPauseEnd(field: string, nowMs: number, longestDays: number): Date | undefined {
  return faultOfPauseEnd(field, nowMs, longestDays) === undefined ? new Date(field) : undefined;
}
