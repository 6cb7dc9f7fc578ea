import { DAY_MS, type Position } from '@duskline/domain';
import type { ApiDeps } from './api-deps.ts';
import { instant } from './json/instant.ts';

type Night = readonly [fromAt: string, toAt: string];

interface Kept {
  readonly key: string;
  readonly nights: readonly { readonly span: readonly [number, number]; readonly night: Night }[];
}

/** Places whose nights are remembered at once; each is some kilobytes. */
const MOST_PLACES = 20_000;

/**
 * The nights of a place over a time axis, as the contract writes them. They change once a day and cost hundreds of
 * positions of the sun, so each place's are kept for as long as the axis lies within the same days.
 */
export function createFleetNights(nightsBetween: ApiDeps['nightsBetween']) {
  const kept = new Map<string, Kept>();

  function nightsAt({ latitudeDeg, longitudeDeg }: Position, firstMs: number, lastMs: number) {
    const place = `${latitudeDeg} ${longitudeDeg}`;
    const key = `${firstMs} ${lastMs}`;
    const held = kept.get(place);
    if (held?.key === key) return held.nights;
    if (kept.size >= MOST_PLACES) kept.clear();
    const nights = nightsBetween(firstMs, lastMs, latitudeDeg, longitudeDeg).map((span) => ({
      span,
      night: [instant(span[0]), instant(span[1])] as const,
    }));
    kept.set(place, { key, nights });
    return nights;
  }

  return (position: Position, fromMs: number, toMs: number): readonly Night[] => {
    const firstMs = Math.floor(fromMs / DAY_MS) * DAY_MS;
    const lastMs = Math.ceil(toMs / DAY_MS) * DAY_MS;
    return nightsAt(position, firstMs, lastMs)
      .filter(({ span: [startMs, endMs] }) => endMs > fromMs && startMs < toMs)
      .map(({ span: [startMs, endMs], night }) =>
        startMs >= fromMs && endMs <= toMs
          ? night
          : [instant(Math.max(startMs, fromMs)), instant(Math.min(endMs, toMs))],
      );
  };
}
