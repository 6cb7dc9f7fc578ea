import type { FieldSheetJson } from '@duskline/contract';
import { DARK_MARGIN_MS, nextLight } from '@duskline/domain';
import { instantMs } from '../format/time.ts';

/**
 * When it gets light at a site where no daylight is left to work in, with half an hour in hand, ms: as the server words alerts.
 *
 * @returns undefined while there is light, or where it is not known
 */
export const firstLightAt = (
  { daylight }: Pick<FieldSheetJson, 'daylight'>,
  nowMs: number,
): number | undefined =>
  nextLight(
    daylight.map(({ from, until }) => ({ fromMs: instantMs(from), untilMs: instantMs(until) })),
    nowMs,
    DARK_MARGIN_MS,
  );
