import type { FleetRowJson } from '@duskline/contract';
import { SECOND_MS } from '@duskline/domain';
import { instantMs } from '../format/time.ts';

/** What a row says of one instant. */
export type ValueAt =
  | { readonly kind: 'heard'; readonly ratio: number }
  | { readonly kind: 'expected'; readonly p10: number; readonly p50: number; readonly p90: number }
  | { readonly kind: 'nothing' };

/** The charge a row shows at an instant: heard in the past, expected ahead, or nothing. Ratios 0–1. */
export function valueAt({ week, fan }: FleetRowJson, atMs: number): ValueAt {
  const index = (start: string, stepS: number): number =>
    Math.floor((atMs - instantMs(start)) / (stepS * SECOND_MS));
  const percent = week.percent[index(week.start, week.stepS)];
  if (percent !== undefined && percent !== null) return { kind: 'heard', ratio: percent / 100 };
  const i = fan === null ? -1 : index(fan.start, fan.stepS);
  const [p10, p50, p90] = [fan?.p10[i], fan?.p50[i], fan?.p90[i]];
  if (p10 === undefined || p50 === undefined || p90 === undefined) return { kind: 'nothing' };
  return { kind: 'expected', p10: p10 / 100, p50: p50 / 100, p90: p90 / 100 };
}
