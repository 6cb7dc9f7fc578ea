import { DAY_MS } from '@duskline/domain';
import {
  blockBootstrap,
  brierScore,
  type Interval,
  learnLogisticMap,
  type LogisticMap,
  reliabilityBins,
  type ReliabilityBin,
} from '../score/index.ts';
import { seededRandom } from '../seeded-random.ts';
import { CHANCE_DAYS, type GradeFigures, SCORED_DAYS } from './grade-outlook.ts';
import { baselineNames, type BaselineName } from './score-seed.ts';

/** One graded outlook, as far as it is graded. */
export interface ScoredOutlook {
  readonly nodeId: number;
  readonly issuedAtMs: number;
  readonly hindcast: boolean;
  readonly of: 'empty' | 'return';
  readonly rawChance7: number;
  readonly chance7: number;
  readonly happened7?: boolean;
  readonly outcome?: 'happened' | 'did-not' | 'unknown';
  readonly figures?: GradeFigures;
}

/** 1 − score ÷ score of the plain rule: 0 = as good, 1 = perfect; left out where the plain rule made no error. */
export type SkillAgainst = Readonly<Partial<Record<BaselineName | 'baseRate', Interval>>>;

export interface FleetScore {
  /** "Dark within 7 days". */
  readonly chance: {
    readonly count: number;
    readonly hindcasts: number;
    readonly events: number;
    readonly brier?: Interval;
    readonly baseRate: number;
    readonly skill: SkillAgainst;
    readonly bins: readonly (ReliabilityBin & { readonly hindcasts: number })[];
  };
  /** Days to empty, cut at 21. */
  readonly days: {
    readonly count: number;
    readonly hindcasts: number;
    readonly emptied: number;
    readonly nonTrivial: number;
    readonly crpsDays?: Interval;
    readonly baselineCrpsDays: Readonly<Partial<Record<BaselineName, Interval>>>;
    readonly skill: SkillAgainst;
    /** Share of the non-trivial outlooks whose 80 % range held what came. */
    readonly cover80?: Interval;
    /** Non-trivial outcomes by tenths of their own forecast. */
    readonly tenths: readonly number[];
  };
  /** Days until a dark node was back. */
  readonly back: {
    readonly count: number;
    readonly crpsDays?: Interval;
    readonly cover80?: Interval;
  };
  /** Nobody can say what came: nothing was heard. */
  readonly unknown: number;
}

const BLOCK_MS = 30 * DAY_MS;
const RESAMPLES = 400;

/**
 * How right the outlooks of a fleet, or of one node, were.
 *
 * An outlook counts when its whole time is over, not when it is settled: one that came true early would otherwise be counted
 * weeks before its neighbours that did not, and the score would follow the weather.
 *
 * @param outlooks  not more than one a day and node: those of one day see the same weather
 * @param options.seed  any whole number; the intervals follow from it
 */
export function fleetScore(
  outlooks: readonly ScoredOutlook[],
  { nowMs, seed }: { readonly nowMs: number; readonly seed: number },
): FleetScore {
  const interval = (rows: readonly ScoredOutlook[], figure: Figure): Interval | undefined =>
    intervalOf(rows, figure, seed);
  const chance = overAfter(outlooks, 'empty', nowMs - CHANCE_DAYS * DAY_MS).filter(
    (one) => one.happened7 !== undefined,
  );
  const days = gradedDays(outlooks, 'empty', nowMs);
  const notable = days.filter(({ figures }) => figures?.nonTrivial === true);
  const back = gradedDays(outlooks, 'return', nowMs);
  const mean = (of: (figures: GradeFigures) => number): Figure => ({
    top: ({ figures }) => (figures === undefined ? 0 : of(figures)),
    bottom: () => 1,
  });
  const events = chance.filter(({ happened7 }) => happened7 === true).length;
  const baseRate = chance.length === 0 ? 0 : events / chance.length;
  const brierOf = (one: ScoredOutlook): number => brierScore(one.chance7, one.happened7 === true);
  const crps = mean((figures) => figures.crpsDays);
  const graded7 = chance.filter(({ figures }) => figures !== undefined);
  return {
    chance: {
      count: chance.length,
      hindcasts: hindcastsAmong(chance),
      events,
      ...given('brier', interval(chance, { top: brierOf, bottom: () => 1 })),
      baseRate,
      skill: {
        ...given(
          'baseRate',
          interval(chance, {
            top: brierOf,
            bottom: (one) => brierScore(baseRate, one.happened7 === true),
            isSkill: true,
          }),
        ),
        ...byBaseline((name) =>
          interval(graded7, {
            top: brierOf,
            bottom: ({ figures }) => figures?.baselines[name].brier7 ?? 0,
            isSkill: true,
          }),
        ),
      },
      bins: binsOf(chance),
    },
    days: {
      count: days.length,
      hindcasts: hindcastsAmong(days),
      emptied: days.filter(({ outcome }) => outcome === 'happened').length,
      nonTrivial: notable.length,
      ...given('crpsDays', interval(days, crps)),
      baselineCrpsDays: byBaseline((name) =>
        interval(
          days,
          mean((figures) => figures.baselines[name].crpsDays),
        ),
      ),
      skill: byBaseline((name) =>
        interval(days, {
          top: crps.top,
          bottom: ({ figures }) => figures?.baselines[name].crpsDays ?? 0,
          isSkill: true,
        }),
      ),
      ...given(
        'cover80',
        interval(
          notable,
          mean((figures) => (figures.covered80 ? 1 : 0)),
        ),
      ),
      tenths: tenthsOf(notable),
    },
    back: {
      count: back.length,
      ...given('crpsDays', interval(back, crps)),
      ...given(
        'cover80',
        interval(
          back,
          mean((figures) => (figures.covered80 ? 1 : 0)),
        ),
      ),
    },
    unknown: outlooks.filter(({ outcome }) => outcome === 'unknown').length,
  };
}

/** The bend that makes a fleet's chances as right as they say, from what they were before any bend. */
export const fleetRecalibration = (
  outlooks: readonly ScoredOutlook[],
  nowMs: number,
): LogisticMap | undefined =>
  learnLogisticMap(
    overAfter(outlooks, 'empty', nowMs - CHANCE_DAYS * DAY_MS).flatMap((one) =>
      one.happened7 === undefined ? [] : [{ probability: one.rawChance7, happened: one.happened7 }],
    ),
  );

/** A ratio of sums, so that a block that counts twice counts twice above and below. */
interface Figure {
  readonly top: (one: ScoredOutlook) => number;
  readonly bottom: (one: ScoredOutlook) => number;
  /** 1 − the ratio. */
  readonly isSkill?: true;
}

function intervalOf(
  rows: readonly ScoredOutlook[],
  { top, bottom, isSkill }: Figure,
  seed: number,
): Interval | undefined {
  const blocks = new Map<string, { top: number; bottom: number }>();
  for (const row of rows) {
    const key = `${row.nodeId} ${Math.floor(row.issuedAtMs / BLOCK_MS)}`;
    const sum = blocks.get(key) ?? { top: 0, bottom: 0 };
    sum.top += top(row);
    sum.bottom += bottom(row);
    blocks.set(key, sum);
  }
  const sums = [...blocks.values()];
  if (sums.length === 0 || sums.every((sum) => sum.bottom === 0)) return undefined;
  const found = blockBootstrap(
    sums.length,
    (copies) => {
      let above = 0;
      let below = 0;
      sums.forEach((sum, i) => {
        above += sum.top * copies[i]!;
        below += sum.bottom * copies[i]!;
      });
      if (below === 0) return Number.NaN;
      return isSkill === true ? 1 - above / below : above / below;
    },
    { random: seededRandom(seed), resamples: RESAMPLES },
  );
  return Number.isFinite(found.low) && Number.isFinite(found.high) ? found : undefined;
}

const overAfter = (
  outlooks: readonly ScoredOutlook[],
  of: ScoredOutlook['of'],
  untilMs: number,
): readonly ScoredOutlook[] => outlooks.filter((one) => one.of === of && one.issuedAtMs <= untilMs);

const gradedDays = (
  outlooks: readonly ScoredOutlook[],
  of: ScoredOutlook['of'],
  nowMs: number,
): readonly ScoredOutlook[] =>
  overAfter(outlooks, of, nowMs - SCORED_DAYS * DAY_MS).filter(
    ({ figures }) => figures !== undefined,
  );

const hindcastsAmong = (outlooks: readonly ScoredOutlook[]): number =>
  outlooks.filter(({ hindcast }) => hindcast).length;

function binsOf(outlooks: readonly ScoredOutlook[]): FleetScore['chance']['bins'] {
  const cases = outlooks.map((one) => ({
    probability: one.chance7,
    happened: one.happened7 === true,
  }));
  return reliabilityBins(cases).map((bin) => ({
    ...bin,
    hindcasts: outlooks.filter(
      ({ hindcast, chance7 }) =>
        hindcast && chance7 >= bin.from && (chance7 < bin.to || bin.to === 1),
    ).length,
  }));
}

function tenthsOf(outlooks: readonly ScoredOutlook[]): readonly number[] {
  const counts = new Array<number>(10).fill(0);
  for (const { figures } of outlooks) {
    const tenth = Math.min(9, Math.floor((figures?.pit ?? 0) * 10));
    counts[tenth] = counts[tenth]! + 1;
  }
  return counts;
}

function byBaseline(
  of: (name: BaselineName) => Interval | undefined,
): Readonly<Partial<Record<BaselineName, Interval>>> {
  return Object.fromEntries(
    baselineNames.flatMap((name) => {
      const interval = of(name);
      return interval === undefined ? [] : [[name, interval]];
    }),
  );
}

function given<K extends string, V>(key: K, value: V | undefined): { readonly [P in K]?: V } {
  return value === undefined ? {} : ({ [key]: value } as { readonly [P in K]?: V });
}
