import type { ForecastInputs } from '../forecast-inputs.ts';
import type { LogisticMap } from '../score/recalibrate.ts';
import { type PreparedWalk, prepareWalk, type TooLittleData } from '../prepare-walk.ts';
import { walkAll } from '../walk-all.ts';
import { bestTiltDeg, type Change } from './change.ts';
import { compareWith, type WhatIf } from './what-if.ts';

/** What thrift usually saves. Assumption, no source: the site's own thrift tells better. */
const THRIFT_SHARE = 0.25;
const NIGHT_SHARE = 0.5;
/** The next size people buy. Common practice, no source. */
const NEXT_SIZE = 2;
/** Dirt never took more than this in the model of Kimber et al. 2006 (IEEE 4th WCPEC): cleaning gives back no more. */
const MOST_DIRT = 0.3;
/** A panel this near to its plate is clean. */
const CLEAN_SCALE = 0.97;
const LEAST_TURN_DEG = 5;

export interface Help {
  readonly kind: 'help';
  /** Most days gained first; what gains nothing is left out. */
  readonly changes: readonly WhatIf[];
  /** Under what all of it was reckoned. */
  readonly assumes: string;
}

/**
 * What a person could do for a node, and what each would gain, under the same weather for all.
 *
 * @param map  how the chances of the outlook were bent
 * @returns the changes that gain something, best first; or what is short
 */
export function whatWouldHelp(inputs: ForecastInputs, map?: LogisticMap): Help | TooLittleData {
  const prepared = prepareWalk(inputs);
  if (prepared.kind === 'too-little') return prepared;
  const { tracks } = walkAll(inputs, prepared.plan, prepared.doubt);
  const changes = changesFor(inputs, prepared)
    .map((change) => compareWith(inputs, { prepared, tracks, change, map }))
    .filter(({ gainedDays }) => gainedDays !== undefined && gainedDays.mean > 0)
    .sort((a, b) => b.gainedDays!.mean - a.gainedDays!.mean);
  return {
    kind: 'help',
    changes,
    assumes:
      `Each change alone, made now, under the same ${tracks.emptyHours.length} weather histories; what is beyond ` +
      `${Math.round(prepared.plan.horizonH / 24)} days is not counted.` +
      (inputs.harvestStop === undefined
        ? ''
        : ' All but the mending: while the harvest stays away.'),
  };
}

function changesFor(
  { learnt, harvestStop }: ForecastInputs,
  prepared: PreparedWalk,
): readonly Change[] {
  const { learning, plan } = prepared;
  const changes: Change[] = [
    ...(harvestStop === undefined
      ? []
      : [{ kind: 'mend-harvest' as const, cause: harvestStop.cause }]),
    { kind: 'bigger-panel', factor: NEXT_SIZE },
    { kind: 'bigger-battery', factor: NEXT_SIZE },
  ];
  if (plan.startsAs === 'up')
    changes.push(
      { kind: 'log-less', savedShare: THRIFT_SHARE },
      { kind: 'less-at-night', savedShare: NIGHT_SHARE },
    );
  // What does something about a panel does nothing while nothing comes from it.
  if (harvestStop !== undefined) return changes;
  const warning = learnt?.panel.warning;
  const lost =
    warning === undefined ? 1 - learning.siteScale : 1 - warning.toRatio / warning.fromRatio;
  if (learning.days.length > 0 && lost > 1 - CLEAN_SCALE)
    changes.push({ kind: 'clean-panel', factor: 1 / (1 - Math.min(MOST_DIRT, lost)) });
  const tiltDeg = bestTiltDeg(prepared);
  if (Math.abs(tiltDeg - prepared.place.panel.tiltDeg) >= LEAST_TURN_DEG)
    changes.push({ kind: 'tilt', tiltDeg });
  return changes;
}
