import type { HarvestHours } from './harvest-hours.ts';
import { FREE } from './hour-flags.ts';
import type { PastHours } from './past-hours.ts';
import { percentile } from './robust.ts';

/** Hours counted as if seen at the nominal scale of 1 (n₀ of the shrinkage). */
const PRIOR_HOURS = 10;
const ENVELOPE = 0.9;
/** Only hours in which a cloudless sky would give this share of the rated power: low sun is all horizon and haze. */
const BRIGHT_SHARE = 0.2;

/**
 * How the panel does against its nameplate on the best hours: soiling, shade, wrong tilt and true efficiency in one figure.
 *
 * The 90th percentile of harvest over clear-sky harvest in free, bright hours, shrunk towards 1 as if ten hours at 1 had
 * been seen.
 *
 * @returns about 0.3 … 1.2; 1 when no bright hour was free
 * @source ours: robust upper envelope; the form by sun azimuth and season comes with the shade mask
 */
export function siteScale(
  past: PastHours,
  harvest: HarvestHours,
  facts: { readonly flags: Uint8Array; readonly ratedW: number },
): number {
  const ratios: number[] = [];
  for (const { from, to } of past.spans)
    for (let i = from; i < to; i++)
      if (facts.flags[i] === FREE && past.referenceWh[i]! > BRIGHT_SHARE * facts.ratedW)
        ratios.push(harvest.harvestW[i]! / past.referenceWh[i]!);
  if (ratios.length === 0) return 1;
  const envelope = Math.max(0, percentile(ratios, ENVELOPE));
  return (ratios.length * envelope + PRIOR_HOURS) / (ratios.length + PRIOR_HOURS);
}
