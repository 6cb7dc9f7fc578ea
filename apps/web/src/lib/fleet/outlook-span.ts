import type { OutlookJson } from '@duskline/contract';
import { DAY_MS, type TimeSpan } from '@duskline/domain';
import { instantMs } from '../format/time.ts';

const span = (fromMs: number, toMs: number | null): TimeSpan =>
  toMs === null ? { fromMs } : { fromMs, toMs };

/** When the node would stop, P10–P90; undefined when it is not within the horizon, or not known. */
export function stopSpan(outlook: OutlookJson | null): TimeSpan | undefined {
  if (outlook?.kind !== 'empties-in' || outlook.p10Days === null || outlook.back !== null)
    return undefined;
  const issuedMs = instantMs(outlook.issuedAt);
  const dayMs = (days: number | null) => (days === null ? null : issuedMs + days * DAY_MS);
  return span(issuedMs + outlook.p10Days * DAY_MS, dayMs(outlook.p90Days));
}

/** A stop nearer than this is worth a reader's eye, even where nobody must act yet. */
const SOON_MS = 7 * DAY_MS;

/** Could it stop within the week? */
export const stopsSoon = (outlook: OutlookJson | null, nowMs: number): boolean =>
  (stopSpan(outlook)?.fromMs ?? Infinity) < nowMs + SOON_MS;

/** When a dark node is expected back, P10–P90; undefined when it is not dark, or the return is out of reach. */
export function backSpan(outlook: OutlookJson | null): TimeSpan | undefined {
  const back = outlook?.back ?? null;
  if (back === null || back.p10At === null) return undefined;
  return span(instantMs(back.p10At), back.p90At === null ? null : instantMs(back.p90At));
}

/** Until when nine paths in ten stay above the shut-down level; undefined when there is too little data. */
export function clearUntilMs(outlook: OutlookJson | null): number | undefined {
  if (outlook === null || outlook.kind === 'insufficient-data') return undefined;
  const days = outlook.p10Days ?? outlook.horizonDays;
  return instantMs(outlook.issuedAt) + days * DAY_MS;
}

/** Days to empty, counted from now. */
export type DaysToEmpty =
  | { readonly kind: 'known'; readonly middle: string; readonly range: string }
  | { readonly kind: 'beyond'; readonly horizonDays: number }
  | {
      readonly kind: 'too-little-data';
      readonly missing: string;
      readonly have: number;
      readonly need: number;
    }
  | { readonly kind: 'none' };

function roundedDays(days: number): string {
  if (days < 1) return '<1';
  return days < 3 ? String(Math.round(days * 2) / 2) : String(Math.round(days));
}

/**
 * Days to empty in the figures a row has room for: the median and the 80 % range, counted from now rather than from
 * the issue; a bound beyond the horizon reads "30+".
 */
export function daysToEmpty(outlook: OutlookJson | null, nowMs: number): DaysToEmpty {
  if (outlook === null || outlook.back !== null) return { kind: 'none' };
  if (outlook.kind === 'insufficient-data')
    return {
      kind: 'too-little-data',
      missing: outlook.missing ?? 'data',
      have: outlook.have ?? 0,
      need: outlook.need ?? 0,
    };
  if (outlook.kind === 'beyond-horizon' || outlook.p10Days === null)
    return { kind: 'beyond', horizonDays: outlook.horizonDays };
  const goneDays = (nowMs - instantMs(outlook.issuedAt)) / DAY_MS;
  const text = (days: number | null): string =>
    days === null ? `${outlook.horizonDays}+` : roundedDays(Math.max(0, days - goneDays));
  const [low, high] = [text(outlook.p10Days), text(outlook.p90Days)];
  return {
    kind: 'known',
    middle: text(outlook.p50Days),
    range: low === high ? low : `${low}–${high}`,
  };
}
