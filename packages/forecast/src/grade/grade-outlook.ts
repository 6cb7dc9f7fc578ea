import { DAY_MS, HOUR_MS } from '@duskline/domain';
import {
  brierScore,
  crpsWithinHorizon,
  isCovered,
  pinballLoss,
  randomisedPit,
} from '../score/index.ts';
import { seededRandom } from '../seeded-random.ts';
import { daysBetween, type OutcomeWatch } from './outcome-watch.ts';
import { baselineNames, type BaselineDays, type BaselineName } from './score-seed.ts';

/** Days to empty are scored no further than this: all that lies beyond is one. */
export const SCORED_DAYS = 21;
export const CHANCE_DAYS = 7;
/** What has not been heard of this long after its time is never going to be known. */
const GIVEN_UP_DAYS = 14;
const LOOK_AGAIN_MS = 6 * HOUR_MS;
/** A forecast sees a risk from here on. */
const RISK_SHARE = 0.1;

/** How good one outlook was. Plain JSON. */
export interface GradeFigures {
  readonly crpsDays: number;
  readonly pinballDays: { readonly p10: number; readonly p50: number; readonly p90: number };
  readonly brier7: number;
  readonly covered80: boolean;
  /** Where what came fell among the paths, 0–1. */
  readonly pit: number;
  /** It went empty, or somebody saw a risk of it: the cases that tell forecasters apart. */
  readonly nonTrivial: boolean;
  readonly baselines: Readonly<
    Record<BaselineName, { readonly crpsDays: number; readonly brier7: number }>
  >;
}

/** An outlook waiting for its grade. */
export interface ToGrade {
  readonly issuedAtMs: number;
  readonly of: 'empty' | 'return';
  /** Equally likely days, ascending; Infinity = beyond its horizon. */
  readonly days: readonly number[];
  readonly chance7: number;
  readonly baselines: BaselineDays;
}

export interface OutlookGrade {
  readonly nextDueAtMs?: number;
  readonly happened7?: boolean;
  readonly outcome?: 'happened' | 'did-not' | 'unknown';
  readonly outcomeDays?: number;
  readonly figures?: GradeFigures;
}

/**
 * Grades an outlook by what came of it, as far as that is known.
 *
 * What has not happened counts as such only as far as the node was heard: silence is no proof that it stayed up. (Of a dark node
 * silence is what is foretold, so there the clock is enough.)
 *
 * @param outlook  as it was kept when it was issued
 * @param watch    what is known of the node since
 * @returns the end of it, or when to look again
 */
export function gradeOutlook(outlook: ToGrade, watch: OutcomeWatch, nowMs: number): OutlookGrade {
  const { issuedAtMs, of } = outlook;
  const eventMs = of === 'empty' ? watch.emptiedAtMs : watch.heardAgainAtMs;
  const eventDays = eventMs === undefined ? Infinity : daysBetween(issuedAtMs, eventMs);
  if (eventDays <= SCORED_DAYS) return settled(outlook, eventDays);

  const knownUntilMs = of === 'empty' ? Math.min(watch.heardUntilMs, nowMs) : nowMs;
  const knownDays = Math.min(daysBetween(issuedAtMs, knownUntilMs), eventDays);
  if (knownDays >= SCORED_DAYS || eventDays < Infinity) return settled(outlook, Infinity);
  if (daysBetween(issuedAtMs, nowMs) > SCORED_DAYS + GIVEN_UP_DAYS) return { outcome: 'unknown' };
  const isKnown7 = knownDays >= CHANCE_DAYS;
  const dueMs = issuedAtMs + (isKnown7 ? SCORED_DAYS : CHANCE_DAYS) * DAY_MS;
  return {
    nextDueAtMs: dueMs > nowMs ? dueMs : nowMs + LOOK_AGAIN_MS,
    ...(isKnown7 ? { happened7: false } : {}),
  };
}

/** @param outcomeDays Infinity: not within the days that are scored */
function settled(outlook: ToGrade, outcomeDays: number): OutlookGrade {
  return {
    happened7: outcomeDays <= CHANCE_DAYS,
    outcome: Number.isFinite(outcomeDays) ? 'happened' : 'did-not',
    ...(Number.isFinite(outcomeDays) ? { outcomeDays } : {}),
    figures: figuresOf(outlook, outcomeDays),
  };
}

function figuresOf(outlook: ToGrade, outcomeDays: number): GradeFigures {
  const { days, chance7, baselines, issuedAtMs } = outlook;
  const happened7 = outcomeDays <= CHANCE_DAYS;
  const at = (share: number): number => days[Math.ceil(share * days.length) - 1] ?? Infinity;
  const loss = (level: number): number =>
    pinballLoss(level, Math.min(at(level), SCORED_DAYS), Math.min(outcomeDays, SCORED_DAYS));
  const plain = (name: BaselineName) => {
    const said = baselines[name] ?? Infinity;
    return {
      crpsDays: crpsWithinHorizon([said], outcomeDays, SCORED_DAYS),
      brier7: brierScore(said <= CHANCE_DAYS ? 1 : 0, happened7),
    };
  };
  const sawRisk =
    at(RISK_SHARE) < SCORED_DAYS ||
    (baselines.lastDay ?? Infinity) < SCORED_DAYS ||
    (baselines.lastWeek ?? Infinity) < SCORED_DAYS;
  return {
    crpsDays: crpsWithinHorizon(days, outcomeDays, SCORED_DAYS),
    pinballDays: { p10: loss(0.1), p50: loss(0.5), p90: loss(0.9) },
    brier7: brierScore(chance7, happened7),
    covered80: isCovered({ low: at(0.1), high: at(0.9) }, outcomeDays, SCORED_DAYS),
    pit: randomisedPit(
      days,
      outcomeDays,
      SCORED_DAYS,
      seededRandom((issuedAtMs / 1000) | 0).uniform(),
    ),
    nonTrivial: sawRisk || Number.isFinite(outcomeDays),
    baselines: Object.fromEntries(
      baselineNames.map((name) => [name, plain(name)]),
    ) as GradeFigures['baselines'],
  };
}
