import { daylightPoints } from './daylight-points.ts';
import { createPanelSky, type PanelChainInputs } from './panel-chain.ts';
import { requireWithin } from './require-number.ts';

/** What one day gives under a cloudless sky and under the same sky dimmed. */
export interface DayUnderClouds {
  /** Cloudless, on the level, Wh/m². */
  readonly levelWhM2: number;
  /** Cloudless, from the panel, Wh. */
  readonly cloudlessWh: number;
  /** From the panel, Wh, for each clear-sky index asked for. */
  readonly dimmedWh: Float64Array;
}

const DAY_H = 24;

/**
 * The sums of `referenceHourlyWh` over one day for many weathers at once: sun and cloudless sky are worked out once for all.
 *
 * @param inputs.startMs          start of the day, Unix ms
 * @param inputs.clearSkyIndices  level irradiance against the cloudless sky's, each 0 … 2
 * @throws EnergyInputError when place, panel or sky is out of range
 * @accuracy equal to `referenceHourlyWh` at each index: day-under-clouds.test.ts
 * @source the chain of `createPanelChain`, the quadrature of `daylightPoints`
 */
export function dayUnderClouds(
  inputs: Omit<PanelChainInputs, 'clearSkyIndex' | 'horizon'> & {
    readonly startMs: number;
    readonly clearSkyIndices: readonly number[];
  },
): DayUnderClouds {
  const { startMs, clearSkyIndices, position } = inputs;
  for (const index of clearSkyIndices) requireWithin('clearSkyIndices', index, [0, 2]);
  const sky = createPanelSky(inputs);
  const dimmedWh = new Float64Array(clearSkyIndices.length);
  let levelWhM2 = 0;
  let cloudlessWh = 0;
  daylightPoints({ startMs, hours: DAY_H, position, pieces: 1 }, (atMs, weightH) => {
    const moment = sky.at(atMs);
    if (moment === undefined) return;
    levelWhM2 += moment.cloudless.ghiWm2 * weightH;
    cloudlessWh += sky.watts(moment) * weightH;
    for (let i = 0; i < dimmedWh.length; i++)
      dimmedWh[i] = dimmedWh[i]! + sky.watts(moment, clearSkyIndices[i]) * weightH;
  });
  return { levelWhM2, cloudlessWh, dimmedWh };
}
