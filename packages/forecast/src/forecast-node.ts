import type { Outlook, OutlookFrame } from '@duskline/domain';
import type { ForecastInputs } from './forecast-inputs.ts';
import type { SiteLearning } from './learn/learn-site.ts';
import { summarise } from './outlook.ts';
import { outlookDrivers } from './outlook-drivers.ts';
import { outlookReasons } from './outlook-reasons.ts';
import { daysToEmpty, daysToReturn } from './path-times.ts';
import { HORIZON_DAYS, prepareWalk } from './prepare-walk.ts';
import { walkAll } from './walk-all.ts';

/** Name and version of the chain; the outlook adds where its figures came from. */
export const MODEL = 'own-days and climate 2';

/** An outlook with the paths behind it, for scoring. */
export interface ForecastPaths {
  readonly outlook: Outlook;
  /** Days from now to the shut-down level, ascending; Infinity = beyond the horizon. Left out with too little data. */
  readonly daysToEmpty?: Float64Array;
  /** Days from now to the restart level of a dark node, given that it is not back yet; likewise. */
  readonly daysToReturn?: Float64Array;
}

/**
 * The outlook of one node: what it has lived through, carried on in many possible weathers, hour by hour, until it is empty or,
 * once dark, until it is back.
 *
 * @param inputs  history with nulls where nothing was heard; nothing observed after `nowMs` is looked at
 * @returns an outlook; 'insufficient-data' when the charge, the load or a day of yield is not known
 * @throws RangeError when the seed is not a whole number; EnergyInputError when site or power system are out of range
 * @accuracy `npm run backtest` prints its skill on real weather; while the harvest has stopped it says what comes if nobody mends it
 * @source ours: README
 */
export const forecastNode = (inputs: ForecastInputs): Outlook => forecastPaths(inputs).outlook;

/** As `forecastNode`, with the time of every path. */
export function forecastPaths(inputs: ForecastInputs): ForecastPaths {
  const { dark, harvestStop } = inputs;
  const horizonDays = inputs.horizonDays ?? HORIZON_DAYS;
  const frame: OutlookFrame = {
    issuedAtMs: inputs.nowMs,
    horizonDays,
    model: MODEL,
    seed: inputs.seed,
    ...(dark === undefined ? {} : { whileDark: true }),
    ...(harvestStop === undefined ? {} : { harvestStop }),
  };
  const prepared = prepareWalk(inputs);
  if (prepared.kind === 'too-little') {
    const { missing, have, need } = prepared;
    return { outlook: { kind: 'insufficient-data', ...frame, missing, have, need } };
  }
  const { learning, start, plan, doubt } = prepared;
  const { tracks, harvestWhPerDay } = walkAll(inputs, plan, doubt);
  const drivers = outlookDrivers({
    learning,
    plan,
    tracks,
    startRatio: start.ratio,
    harvestWhPerDay,
  });
  const reasons = outlookReasons({ inputs, prepared, drivers });
  const explained = { ...frame, model: modelOf(learning) };
  const outlook = summarise(
    explained,
    { plan, tracks },
    {
      drivers,
      weather: prepared.weatherUse,
      reasons,
    },
  );
  return dark === undefined
    ? { outlook, daysToEmpty: daysToEmpty({ plan, tracks }, horizonDays) }
    : { outlook, daysToReturn: daysToReturn({ plan, tracks }, horizonDays) };
}

/** Says where each figure came from, so that an outlook explains itself. */
function modelOf({ load, harvestFrom, temperatureFrom }: SiteLearning): string {
  return `${MODEL}; load: ${load.from}; harvest: ${harvestFrom}; battery temperature: ${temperatureFrom}`;
}
