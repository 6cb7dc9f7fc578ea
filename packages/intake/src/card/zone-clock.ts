import { DAY_MS } from '@duskline/domain';
import { Temporal } from 'temporal-polyfill';

/** When it was that a clock on the wall of some zone showed that. */
export type WallInstant =
  | { readonly kind: 'plain'; readonly atMs: number }
  /** The clock was put forward over it: no clock of the zone ever showed it. `atMs` as if it had not been. */
  | { readonly kind: 'skipped'; readonly atMs: number }
  /** The clock was put back and showed it twice. */
  | { readonly kind: 'twice'; readonly firstMs: number; readonly secondMs: number };

export interface ZoneClock {
  (wallMs: number): WallInstant;
}

export function isZone(name: string): boolean {
  try {
    Temporal.Instant.fromEpochMilliseconds(0).toZonedDateTimeISO(name);
    return true;
  } catch {
    return false;
  }
}

/**
 * Clock times of a zone to instants. Asks the zone's rules once for each stretch between two changes of its clocks, so that a
 * million lines cost little.
 *
 * @param zone IANA name
 * @throws RangeError for a zone there is none
 */
export function createZoneClock(zone: string): ZoneClock {
  let stretch: Stretch = { fromMs: 0, toMs: 0, offsetMs: 0 };

  return (wallMs) => {
    const quick = wallMs - stretch.offsetMs;
    if (quick > stretch.fromMs + DAY_MS && quick < stretch.toMs - DAY_MS)
      return { kind: 'plain', atMs: quick };
    const before = stretchAt(wallMs - DAY_MS, zone);
    const after = stretchAt(wallMs + DAY_MS, zone);
    stretch = after;
    const fits = [...new Set([before.offsetMs, after.offsetMs])]
      .map((offsetMs) => ({ atMs: wallMs - offsetMs, offsetMs }))
      .filter(({ atMs, offsetMs }) => stretchAt(atMs, zone).offsetMs === offsetMs)
      .map(({ atMs }) => atMs)
      .sort((a, b) => a - b);
    const [first, second] = fits;
    if (first === undefined) return { kind: 'skipped', atMs: wallMs - before.offsetMs };
    return second === undefined
      ? { kind: 'plain', atMs: first }
      : { kind: 'twice', firstMs: first, secondMs: second };
  };
}

/** A time through which the zone's clocks keep the same distance from UTC. */
interface Stretch {
  readonly fromMs: number;
  readonly toMs: number;
  readonly offsetMs: number;
}

function stretchAt(atMs: number, zone: string): Stretch {
  const there = Temporal.Instant.fromEpochMilliseconds(atMs).toZonedDateTimeISO(zone);
  const next = there.getTimeZoneTransition('next');
  const last = there.add({ nanoseconds: 1 }).getTimeZoneTransition('previous');
  return {
    fromMs: last?.epochMilliseconds ?? -Infinity,
    toMs: next?.epochMilliseconds ?? Infinity,
    offsetMs: there.offsetNanoseconds / 1e6,
  };
}

/** The instant at which a clock in another zone shows what one here shows at that instant. */
export const sameWallTime = (atMs: number, zone: string, other: string): number =>
  Temporal.Instant.fromEpochMilliseconds(atMs)
    .toZonedDateTimeISO(zone)
    .toPlainDateTime()
    .toZonedDateTime(other).epochMilliseconds;
