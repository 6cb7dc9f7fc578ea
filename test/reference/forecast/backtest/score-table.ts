import {
  blockBootstrap,
  type ConcordantPairs,
  countPair,
  type Interval,
  RELIABILITY_BINS,
  seededRandom,
} from '@duskline/forecast';
import { type GradedOutlook, type GradedReturn, HORIZON } from './graded.ts';

/** The figures of one group of outlooks, each with its 90 % interval. */
export interface ScoreTable {
  readonly forecasts: Interval;
  readonly darkRate: Interval;
  readonly brierSkillVsBaseRate: Interval;
  readonly brierSkillVs7Day: Interval;
  readonly brierSkillVs24h: Interval;
  readonly crpsDays: Interval;
  readonly crpsSkillVs7Day: Interval;
  readonly crpsSkillVs24h: Interval;
  readonly crpsSkillVsNoSun: Interval;
  /** Own CRPS over that of the bootstrap that ignores clipping, where that one can be drawn. */
  readonly crpsRatioToBareBootstrap: Interval;
  /** Own CRPS over that of the same chain without its flags of a full battery; NaN where that one was not asked for. */
  readonly crpsRatioToTrapped: Interval;
  /** CRPS skill of that one over the last week's balance: how deep the trap is. */
  readonly crpsSkillTrapped: Interval;
  readonly nonTrivial: Interval;
  readonly crpsNonTrivialDays: Interval;
  readonly cover80NonTrivial: Interval;
  readonly reliabilityError: Interval;
  readonly cIndexNonTrivial: Interval;
  readonly worstSiteBrierSkill: Interval;
  readonly returns: Interval;
  readonly returnCrpsDays: Interval;
  readonly returnCover80: Interval;
}

export interface GradedSite {
  readonly site: string;
  readonly outlooks: readonly GradedOutlook[];
  readonly returns: readonly GradedReturn[];
}

/** A bin of fewer cases tells nothing of reliability. */
const LEAST_IN_BIN = 50;
/** Pairs grow with the square: every k-th case is taken where there are more. */
const MOST_RANKED = 4000;
const SEED = 20_261_126;

interface Block {
  readonly site: string;
  readonly outlooks: GradedOutlook[];
  readonly returns: GradedReturn[];
}

/**
 * The score table of a group: figures of all its outlooks, and intervals by resampling blocks of 30 days of a site.
 *
 * @param resamples  1000 in the published table
 */
export function scoreTable(sites: readonly GradedSite[], resamples: number): ScoreTable {
  const blocks = blocksOf(sites);
  const random = seededRandom(SEED);
  const interval = (figure: (copies: Uint16Array) => number): Interval =>
    blockBootstrap(blocks.length, figure, { random, resamples });
  const sumsOf = (value: (block: Block) => number): ((copies: Uint16Array) => number) => {
    const sums = Float64Array.from(blocks, value);
    return (copies) => sums.reduce((sum, each, i) => sum + each * copies[i]!, 0);
  };
  const ofOutlooks = (value: (one: GradedOutlook) => number) =>
    sumsOf(({ outlooks }) => outlooks.reduce((sum, one) => sum + value(one), 0));
  const ofReturns = (value: (one: GradedReturn) => number) =>
    sumsOf(({ returns }) => returns.reduce((sum, one) => sum + value(one), 0));
  type Figure = (copies: Uint16Array) => number;
  const ratio =
    (above: Figure, below: Figure): Figure =>
    (copies) =>
      above(copies) / below(copies);
  const skill =
    (own: Figure, reference: Figure): Figure =>
    (copies) =>
      1 - own(copies) / reference(copies);
  const count = ofOutlooks(() => 1);
  const open = ofOutlooks((one) => (one.isNonTrivial ? 1 : 0));
  const brier = ofOutlooks((one) => one.brier);
  const crps = ofOutlooks((one) => one.crpsDays);
  const back = ofReturns(() => 1);
  return {
    forecasts: interval(count),
    darkRate: interval(
      ratio(
        ofOutlooks((one) => (one.dark7 ? 1 : 0)),
        count,
      ),
    ),
    brierSkillVsBaseRate: interval(
      skill(
        brier,
        ofOutlooks((one) => one.brierBaseRate),
      ),
    ),
    brierSkillVs7Day: interval(
      skill(
        brier,
        ofOutlooks((one) => one.brierLast7d),
      ),
    ),
    brierSkillVs24h: interval(
      skill(
        brier,
        ofOutlooks((one) => one.brierLast24h),
      ),
    ),
    crpsDays: interval(ratio(crps, count)),
    crpsSkillVs7Day: interval(
      skill(
        crps,
        ofOutlooks((one) => one.crpsLast7d),
      ),
    ),
    crpsSkillVs24h: interval(
      skill(
        crps,
        ofOutlooks((one) => one.crpsLast24h),
      ),
    ),
    crpsSkillVsNoSun: interval(
      skill(
        crps,
        ofOutlooks((one) => one.crpsNoSun),
      ),
    ),
    crpsRatioToBareBootstrap: interval(
      ratio(
        ofOutlooks((one) => (one.crpsBareBootstrap === undefined ? 0 : one.crpsDays)),
        ofOutlooks((one) => one.crpsBareBootstrap ?? 0),
      ),
    ),
    crpsRatioToTrapped: interval(
      ratio(
        ofOutlooks((one) => (one.crpsTrapped === undefined ? 0 : one.crpsDays)),
        ofOutlooks((one) => one.crpsTrapped ?? 0),
      ),
    ),
    crpsSkillTrapped: interval(
      skill(
        ofOutlooks((one) => one.crpsTrapped ?? 0),
        ofOutlooks((one) => (one.crpsTrapped === undefined ? 0 : one.crpsLast7d)),
      ),
    ),
    nonTrivial: interval(open),
    crpsNonTrivialDays: interval(
      ratio(
        ofOutlooks((one) => (one.isNonTrivial ? one.crpsDays : 0)),
        open,
      ),
    ),
    cover80NonTrivial: interval(
      ratio(
        ofOutlooks((one) => (one.isNonTrivial && one.isCovered ? 1 : 0)),
        open,
      ),
    ),
    reliabilityError: interval(reliabilityError(sumsOf)),
    cIndexNonTrivial: interval(cIndex(blocks)),
    worstSiteBrierSkill: interval(worstSite(blocks, sumsOf)),
    returns: interval(back),
    returnCrpsDays: interval(
      ratio(
        ofReturns((one) => one.crpsDays),
        back,
      ),
    ),
    returnCover80: interval(
      ratio(
        ofReturns((one) => (one.isCovered ? 1 : 0)),
        back,
      ),
    ),
  };
}

type Sums = (value: (block: Block) => number) => (copies: Uint16Array) => number;

function blocksOf(sites: readonly GradedSite[]): readonly Block[] {
  const blocks = new Map<string, Block>();
  const blockOf = (site: string, block: number): Block => {
    const key = `${site} ${block}`;
    const known = blocks.get(key) ?? { site, outlooks: [], returns: [] };
    blocks.set(key, known);
    return known;
  };
  for (const { site, outlooks, returns } of sites) {
    for (const one of outlooks) blockOf(site, one.block).outlooks.push(one);
    for (const one of returns) blockOf(site, one.block).returns.push(one);
  }
  return [...blocks.values()];
}

/** Greatest distance of mean probability and observed share, over bins of at least fifty cases. */
function reliabilityError(sumsOf: Sums): (copies: Uint16Array) => number {
  const bins = Array.from({ length: RELIABILITY_BINS }, (_, bin) => {
    const isIn = (one: GradedOutlook): boolean =>
      Math.min(RELIABILITY_BINS - 1, Math.floor(one.p7 * RELIABILITY_BINS)) === bin;
    const sum = (value: (one: GradedOutlook) => number) =>
      sumsOf(({ outlooks }) =>
        outlooks.reduce((total, one) => total + (isIn(one) ? value(one) : 0), 0),
      );
    return {
      count: sum(() => 1),
      p: sum((one) => one.p7),
      came: sum((one) => (one.dark7 ? 1 : 0)),
    };
  });
  return (copies) =>
    Math.max(
      ...bins.map(({ count, p, came }) => {
        const cases = count(copies);
        return cases < LEAST_IN_BIN ? 0 : Math.abs(p(copies) - came(copies)) / cases;
      }),
    );
}

/** Pairs are counted once per pair of blocks, so that a resample is a sum of products. */
function cIndex(blocks: readonly Block[]): (copies: Uint16Array) => number {
  const all = blocks.flatMap(({ outlooks }, block) =>
    outlooks.filter((one) => one.isNonTrivial).map((one) => ({ one, block })),
  );
  const stride = Math.max(1, Math.ceil(all.length / MOST_RANKED));
  const cases = all
    .filter((_, i) => i % stride === 0)
    .map(({ one, block }) => ({
      block,
      forecast: one.meanDays,
      observed: one.observedDays,
      isCensored: one.observedDays >= HORIZON,
    }));
  const width = blocks.length;
  const concordant = new Float64Array(width * width);
  const comparable = new Float64Array(width * width);
  const pair: ConcordantPairs = { concordant: 0, comparable: 0 };
  for (let i = 0; i < cases.length; i++)
    for (let j = i + 1; j < cases.length; j++) {
      pair.concordant = 0;
      pair.comparable = 0;
      countPair(pair, cases[i]!, cases[j]!);
      const cell = cases[i]!.block * width + cases[j]!.block;
      concordant[cell] = concordant[cell]! + pair.concordant;
      comparable[cell] = comparable[cell]! + pair.comparable;
    }
  return (copies) => {
    let right = 0;
    let known = 0;
    for (let a = 0; a < width; a++) {
      if (copies[a] === 0) continue;
      for (let b = a; b < width; b++) {
        const times = copies[a]! * copies[b]!;
        right += times * concordant[a * width + b]!;
        known += times * comparable[a * width + b]!;
      }
    }
    return right / known;
  };
}

function worstSite(blocks: readonly Block[], sumsOf: Sums): (copies: Uint16Array) => number {
  const skills = [...new Set(blocks.map(({ site }) => site))].map((site) => {
    const sum = (value: (one: GradedOutlook) => number) =>
      sumsOf((block) =>
        block.site === site ? block.outlooks.reduce((total, one) => total + value(one), 0) : 0,
      );
    const own = sum((one) => one.brier);
    const base = sum((one) => one.brierBaseRate);
    return (copies: Uint16Array): number =>
      base(copies) === 0 ? Number.POSITIVE_INFINITY : 1 - own(copies) / base(copies);
  });
  return (copies) => Math.min(...skills.map((skillOf) => skillOf(copies)));
}
