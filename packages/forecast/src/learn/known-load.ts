import type { LearntLoad } from './learnt-site.ts';
import { HIDDEN_LOAD_SIGMA, type LoadProfile } from './load-profile.ts';

/** The load as earlier looks left it, for a node whose history no longer tells it; undefined when it never did. */
export function knownLoad(load: LearntLoad | undefined): LoadProfile | undefined {
  if (load === undefined || load.from === 'unknown' || load.byUtcHourW.length !== 24)
    return undefined;
  return {
    byUtcHourW: Float64Array.from(load.byUtcHourW),
    daySigma: load.daySigma,
    levelSigma: HIDDEN_LOAD_SIGMA,
    lastResidual: 0,
    lastDay: Number.NEGATIVE_INFINITY,
    days: load.level.fromDays,
    from: load.from,
  };
}
