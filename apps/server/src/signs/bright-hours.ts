import { HOUR_MS, type FieldNode, type Site } from '@duskline/domain';
import { referenceHourlyWh } from '@duskline/energy';

/** Longest stretch that is looked at, hours. */
const MOST_HOURS = 31 * 24;

/** Hours of [fromMs, toMs) in which a cloudless sky would have given a tenth of the panel's rated power, a month at most. */
export function brightHours(at: Place, fromMs: number, toMs: number): number {
  const hours = Math.min(MOST_HOURS, Math.floor((toMs - fromMs) / HOUR_MS));
  return hours <= 0 ? 0 : isBright(at, fromMs, hours).filter(Boolean).length;
}

interface Place {
  readonly site: Site;
  readonly node: FieldNode;
}

function isBright({ site, node }: Place, fromMs: number, hours: number): readonly boolean[] {
  const { position } = site;
  const { panel } = node.power;
  const energyWh = referenceHourlyWh({ position, panel, startMs: fromMs, hours });
  return Array.from(energyWh, (wh) => wh >= 0.1 * panel.ratedW);
}

/** An hour counts as bright half an hour after it is over. */
export const BRIGHT_AFTER_MS = HOUR_MS / 2;

/** When so many bright hours after `fromMs` count; undefined: not within a month. */
export function afterBrightHours(at: Place, fromMs: number, needed: number): number | undefined {
  if (needed <= 0) return fromMs;
  let count = 0;
  const last = isBright(at, fromMs, MOST_HOURS).findIndex((bright) => {
    count += bright ? 1 : 0;
    return count >= needed;
  });
  return last === -1 ? undefined : fromMs + (last + 1) * HOUR_MS + BRIGHT_AFTER_MS;
}
