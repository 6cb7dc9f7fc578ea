import type { TimedOverrides } from '@duskline/domain';
import { limitsInForce, type LimitsInForce } from './limits-in-force.ts';

/** One set of limits, and the readings it holds for: those observed in [fromMs, toMs). */
export interface LimitEra {
  readonly fromMs: number;
  readonly toMs: number;
  readonly limits: LimitsInForce;
}

/** The limits for the readings of one node, by the time of the reading. */
export interface LimitsOverTime {
  /** Oldest first, from −∞ to ∞ without a gap; one where nothing that holds for a time was set. */
  readonly eras: readonly LimitEra[];
  readonly at: (atMs: number) => LimitsInForce;
  /** Seconds before a reading that may bear on its flag, at any time. */
  readonly reachS: number;
}

/**
 * The defaults with what people set over them, era by era: a new one begins where a part with limits came or went.
 *
 * @param overrides the more particular last: of the site, of the node, of parts by when they were fitted. Of two parts that
 *                  set the same limit of the same metric the later fitted holds while both are there.
 */
export function limitsOverTime(overrides: readonly TimedOverrides[]): LimitsOverTime {
  const borders = new Set([-Infinity]);
  for (const { fromMs, toMs } of overrides)
    for (const atMs of [fromMs, toMs]) if (atMs !== undefined) borders.add(atMs);
  const starts = [...borders].sort((a, b) => a - b);
  const eras = starts.map((fromMs, i): LimitEra => {
    const holding = overrides.filter(
      (one) => (one.fromMs ?? -Infinity) <= fromMs && fromMs < (one.toMs ?? Infinity),
    );
    return {
      fromMs,
      toMs: starts[i + 1] ?? Infinity,
      limits: limitsInForce(holding.map(({ limits }) => limits)),
    };
  });
  const first = eras[0]?.limits ?? limitsInForce([]);
  return {
    eras,
    at: (atMs) => eras.findLast(({ fromMs }) => fromMs <= atMs)?.limits ?? first,
    reachS: Math.max(...eras.map(({ limits }) => limits.reachS)),
  };
}
