import type { Diagnosis, HarvestStop, PowerCause, RankedCause } from '@duskline/domain';
import type { PowerSeen } from './seen-of-power.ts';
import { MOST_CERTAIN } from './weigh-causes.ts';

/** What keeps the whole harvest away and does not mend itself: snow melts, a cold cell warms, a full one empties. */
const FOR_GOOD: readonly PowerCause[] = ['connector', 'charger'];
/** What takes a part of the harvest or none of it: where nothing at all comes in, these do not explain it. */
const IN_PART: readonly PowerCause[] = [
  'soiling',
  'shade',
  'panel-moved',
  'battery-aged',
  'stuck-awake',
];
/** Near enough to certain to reckon with it (our choice). */
const CERTAIN = 0.9;

/**
 * Whether the way of the harvest into the battery has failed: nothing comes in up to now, and of the causes that can bring that
 * about diagnosis is all but certain of these, whichever of the two it is. A plug that comes and goes still brings something,
 * and is left to the weather.
 */
export function harvestStop(
  { harvestGone }: PowerSeen,
  { causes }: Diagnosis,
): HarvestStop | undefined {
  const isOf = (some: readonly PowerCause[], { cause }: RankedCause): boolean =>
    some.some((one) => one === cause);
  const failed = causes.filter((one) => isOf(FOR_GOOD, one));
  const possible = causes.filter((one) => !isOf(IN_PART, one));
  const [likelier] = failed;
  if (harvestGone === undefined || likelier === undefined) return undefined;
  const probability = Math.min(MOST_CERTAIN, sumOf(failed) / sumOf(possible));
  if (probability < CERTAIN) return undefined;
  return { sinceMs: harvestGone.sinceMs, cause: likelier.name, probability };
}

const sumOf = (causes: readonly RankedCause[]): number =>
  causes.reduce((sum, { probability }) => sum + probability, 0);
