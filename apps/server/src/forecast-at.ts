import type {
  ChargeEstimate,
  FieldNode,
  HarvestStop,
  HourlyHistory,
  Outlook,
  Site,
} from '@duskline/domain';
import {
  baselinesOf,
  CHANCE_DAYS,
  fewDays,
  forecastPaths,
  recalibrated,
  reserveOf,
  type ForecastInputs,
  type ForecastPaths,
  type LogisticMap,
} from '@duskline/forecast';
import { DAY_MS } from '@duskline/domain';
import type { IssuedOutlook, OutlookFacts, OutlookInputs, ScoreSeed } from '@duskline/store';
import { historyUntil } from './history-until.ts';
import { outlookSeed } from './outlook-seed.ts';
import type { Lessons } from './read-lessons.ts';

/** As of when an outlook is issued, and what the node was like then. */
export interface ForecastMoment {
  readonly atMs: number;
  readonly charge: ChargeEstimate | undefined;
  readonly dark?: { readonly sinceMs: number; readonly chargeRatio: number };
  readonly harvestStop?: HarvestStop;
  /** Computed afterwards: nothing of `lessons` that is later than it may be used. */
  readonly hindcast: boolean;
}

/** What the forecaster was given beside the readings; kept with the outlook. */
interface MoreFacts {
  readonly recalibration?: LogisticMap;
  readonly harvestStop?: HarvestStop;
  /** Earlier forecasts from outside, by which the newest was judged. */
  readonly outsidePastIds?: readonly string[];
  /** Of the site, as it was entered then. */
  readonly clearnessByMonth?: readonly number[];
}

/** Which earlier forecasts from outside an outlook was made of. */
export const outsidePastIds = ({ facts }: Pick<OutlookInputs, 'facts'>): readonly string[] =>
  ((facts.more ?? {}) as MoreFacts).outsidePastIds ?? [];

/** An outlook with all that is needed to make it again, and to grade it when its time has come. */
export function forecastAt(
  known: {
    readonly node: FieldNode;
    readonly site: Site;
    readonly history: HourlyHistory;
    readonly lessons: Lessons;
  },
  moment: ForecastMoment,
): IssuedOutlook {
  const { node, site, lessons } = known;
  const { atMs, charge, dark, hindcast, harvestStop } = moment;
  const usable = hindcast ? {} : lessons;
  const facts: OutlookFacts = {
    nowMs: atMs,
    seed: outlookSeed(node.id, atMs),
    position: site.position,
    power: node.power,
    ...(charge === undefined ? {} : { charge }),
    ...(dark === undefined ? {} : { dark }),
    more: {
      // Learnt of weather: what comes if nobody mends a plug has nothing to do with it.
      ...(usable.recalibration === undefined || harvestStop !== undefined
        ? {}
        : { recalibration: usable.recalibration }),
      ...(harvestStop === undefined ? {} : { harvestStop }),
      ...(usable.outside === undefined ? {} : { outsidePastIds: usable.outside.pastIds }),
      ...(site.clearnessByMonth === undefined ? {} : { clearnessByMonth: site.clearnessByMonth }),
    } satisfies MoreFacts,
  };
  const inputs: OutlookInputs = {
    history: historyUntil(known.history, atMs),
    ...(usable.learnt === undefined ? {} : { learntAtMs: usable.learnt.atMs }),
    ...(usable.outside === undefined ? {} : { outsideId: usable.outside.id }),
    facts,
  };
  const { paths, outlook } = forecastFrom(inputs, usable);
  const score = scoreSeedOf(paths, outlook, inputs);
  return { outlook, hindcast, inputs, ...(score === undefined ? {} : { score }) };
}

/**
 * The outlook that follows from kept inputs: the same to the last bit whenever it is asked for.
 *
 * @param lessons  the state of learning and the outside forecast the inputs name
 */
export function forecastFrom(
  { history, facts }: OutlookInputs,
  lessons: Pick<Lessons, 'learnt' | 'outside'>,
): { readonly outlook: Outlook; readonly paths: ForecastPaths } {
  const paths = forecastPaths(forecastInputs({ history, facts }, lessons));
  return { paths, outlook: bent(paths.outlook, recalibrationOf({ facts })) };
}

export const forecastInputs = (
  { history, facts }: Pick<OutlookInputs, 'history' | 'facts'>,
  { learnt, outside }: Pick<Lessons, 'learnt' | 'outside'>,
): ForecastInputs => ({
  nowMs: facts.nowMs,
  seed: facts.seed,
  position: facts.position,
  power: facts.power,
  history,
  charge: facts.charge,
  ...(facts.dark === undefined ? {} : { dark: facts.dark }),
  ...moreOf(facts),
  ...(learnt === undefined ? {} : { learnt: learnt.site }),
  ...(outside === undefined ? {} : { outside: outside.facts }),
});

function moreOf(facts: OutlookFacts): Pick<ForecastInputs, 'clearnessByMonth' | 'harvestStop'> {
  const { clearnessByMonth, harvestStop } = (facts.more ?? {}) as MoreFacts;
  return {
    ...(clearnessByMonth === undefined ? {} : { clearnessByMonth }),
    ...(harvestStop === undefined ? {} : { harvestStop }),
  };
}

/** How the chances of an outlook were bent; whatever stands beside them is bent alike. */
export const recalibrationOf = ({ facts }: Pick<OutlookInputs, 'facts'>): LogisticMap | undefined =>
  ((facts.more ?? {}) as MoreFacts).recalibration;

/** The chances as the fleet's own outcomes say they should have been given; the outlook says so. */
function bent(outlook: Outlook, map: LogisticMap | undefined): Outlook {
  if (map === undefined || outlook.kind === 'insufficient-data' || outlook.whileDark === true)
    return outlook;
  return {
    ...outlook,
    model: `${outlook.model}; chances recalibrated on ${map.cases} outcomes`,
    darkWithin3DaysProbability: recalibrated(outlook.darkWithin3DaysProbability, map),
    darkWithin7DaysProbability: recalibrated(outlook.darkWithin7DaysProbability, map),
    darkWithin14DaysProbability: recalibrated(outlook.darkWithin14DaysProbability, map),
  };
}

const FIRST_LOOK_MS = DAY_MS;

function scoreSeedOf(
  paths: ForecastPaths,
  shown: Outlook,
  { history, facts }: OutlookInputs,
): ScoreSeed | undefined {
  const { outlook } = paths;
  if (outlook.kind === 'insufficient-data' || shown.kind === 'insufficient-data') return undefined;
  // It says what comes if nobody mends it, and somebody should: neither score nor calibration may learn from that.
  if (outlook.harvestStop !== undefined) return undefined;
  const isDark = outlook.whileDark === true;
  const days = isDark ? paths.daysToReturn : paths.daysToEmpty;
  if (days === undefined || days.length === 0) return undefined;
  return {
    of: isDark ? 'return' : 'empty',
    dueAtMs: facts.nowMs + (isDark ? FIRST_LOOK_MS : CHANCE_DAYS * DAY_MS),
    horizonDays: outlook.horizonDays,
    days: fewDays(days),
    rawChance7: outlook.darkWithin7DaysProbability,
    chance7: shown.darkWithin7DaysProbability,
    baselines: baselinesOf(history, reserveOf(outlook) ?? 0),
  };
}
