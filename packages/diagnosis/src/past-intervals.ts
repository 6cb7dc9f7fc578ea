import { sayDuration, sayPercent, type NodeInterval } from '@duskline/domain';
import { WAS_HEARD } from './judge-state.ts';
import { saysItStops } from './silence.ts';

/** A hole in a node's readings, with what its two edges tell. */
export interface PastGap {
  /** The last reading before it and the first after it. */
  readonly fromMs: number;
  readonly toMs: number;
  /** 0–1, as last read before. */
  readonly chargeBeforeRatio?: number;
  /** Time since boot at the first reading after it. */
  readonly uptimeAfterMs?: number;
  /** Readings received meanwhile whose time could not be trusted. */
  readonly unsureReadings: number;
}

/** What is known of a stretch of a node's past once its readings have come in. */
export interface NodePast {
  readonly fromMs: number;
  readonly toMs: number;
  /** By time, inside the stretch. */
  readonly gaps: readonly PastGap[];
  /** What was judged at the time: intervals that touch the stretch, by time. */
  readonly judged: readonly NodeInterval[];
}

/** Within this of the shut-down level the end of the charge explains a stop: the same as for a node that is silent now. */
const NEAR_LEVEL = 0.03;
/** Clocks and whole seconds: so much less uptime than the hole is long is still no restart. */
const UPTIME_SLACK_MS = 60_000;

/**
 * The intervals of a past that was filled by a backlog or a card: up where there are readings, and for each hole the cause its
 * edges allow. What people or a farewell said at the time stands; what the readings refute does not.
 *
 * @returns intervals that follow each other without gap or overlap, from `fromMs` to `toMs`
 */
export function reconstructPast(
  past: NodePast,
  power: { readonly shutDownRatio: number },
): readonly NodeInterval[] {
  const intervals: NodeInterval[] = [];
  let atMs = past.fromMs;
  for (const gap of past.gaps) {
    const fromMs = Math.max(gap.fromMs, past.fromMs);
    const toMs = Math.min(gap.toMs, past.toMs);
    if (toMs <= fromMs) continue;
    intervals.push(...heard(past, atMs, fromMs), ...silent(past, gap, { fromMs, toMs, power }));
    atMs = toMs;
  }
  intervals.push(...heard(past, atMs, past.toMs));
  return joined(intervals);
}

/** Up, in the words of the time where it was judged so or low then. */
function heard({ judged }: NodePast, fromMs: number, toMs: number): readonly NodeInterval[] {
  return overlaid(
    { state: 'up', fromMs, toMs, cause: WAS_HEARD, evidence: [] },
    judged.filter(({ state }) => state === 'low' || state === 'up'),
  );
}

function silent(
  { judged }: NodePast,
  gap: PastGap,
  {
    fromMs,
    toMs,
    power,
  }: {
    readonly fromMs: number;
    readonly toMs: number;
    readonly power: { readonly shutDownRatio: number };
  },
): readonly NodeInterval[] {
  const inGap = judged.filter((one) => one.fromMs < toMs && (one.toMs ?? Infinity) > fromMs);
  const declared = inGap.find(
    ({ state, evidence }) => state === 'dark-as-designed' && evidence.some(saysItStops),
  );
  const cause = declared === undefined ? causeOf(gap, power) : pick(declared);
  return overlaid(
    { ...cause, fromMs, toMs },
    inGap.filter(({ state }) => state === 'off-for-work' || state === 'overdue'),
  );
}

const pick = ({ state, cause, evidence }: NodeInterval) => ({ state, cause, evidence });

function causeOf(
  gap: PastGap,
  { shutDownRatio }: { readonly shutDownRatio: number },
): Pick<NodeInterval, 'state' | 'cause' | 'evidence'> {
  const { chargeBeforeRatio, uptimeAfterMs, unsureReadings } = gap;
  const lengthMs = gap.toMs - gap.fromMs;
  const evidence: string[] = [];
  if (chargeBeforeRatio !== undefined)
    evidence.push(
      `Last charge ${sayPercent(chargeBeforeRatio)}, shut-down level ${sayPercent(shutDownRatio)}`,
    );
  if (uptimeAfterMs !== undefined)
    evidence.push(`Up for ${sayDuration(uptimeAfterMs)} when it was heard again`);
  if (uptimeAfterMs !== undefined && uptimeAfterMs >= lengthMs - UPTIME_SLACK_MS)
    return {
      state: 'link-down',
      cause: 'It ran through, but its readings of this time never came.',
      evidence,
    };
  if (unsureReadings > 0)
    return {
      state: 'silent-unexplained',
      cause: `Readings came, but by a clock that cannot be trusted: ${unsureReadings} of them are kept apart.`,
      evidence,
    };
  if (chargeBeforeRatio === undefined)
    return { state: 'silent-unexplained', cause: 'Nothing is known of this time.', evidence };
  if (chargeBeforeRatio <= shutDownRatio + NEAR_LEVEL)
    return {
      state: 'dark-as-designed',
      cause: 'Its charge had come down to the shut-down level.',
      evidence,
    };
  return {
    state: 'silent-unexplained',
    cause: 'It stopped with a charge that does not explain it: a fault, or a hand.',
    evidence,
  };
}

/** The base with the parts on top that were judged at the time. */
function overlaid(
  base: NodeInterval & { readonly toMs: number },
  tops: readonly NodeInterval[],
): readonly NodeInterval[] {
  const parts: NodeInterval[] = [];
  let atMs = base.fromMs;
  for (const top of tops) {
    const fromMs = Math.max(atMs, top.fromMs);
    const toMs = Math.min(base.toMs, top.toMs ?? base.toMs);
    if (toMs <= fromMs) continue;
    if (fromMs > atMs) parts.push({ ...base, fromMs: atMs, toMs: fromMs });
    parts.push({ ...pick(top), fromMs, toMs });
    atMs = toMs;
  }
  if (base.toMs > atMs) parts.push({ ...base, fromMs: atMs });
  return parts;
}

/** Neighbours of the same state and cause are one; all is well for the same reason always. */
function joined(intervals: readonly NodeInterval[]): readonly NodeInterval[] {
  const result: NodeInterval[] = [];
  for (const interval of intervals) {
    const last = result.at(-1);
    if (
      last !== undefined &&
      last.toMs === interval.fromMs &&
      last.state === interval.state &&
      (last.cause === interval.cause || interval.state === 'up')
    )
      result[result.length - 1] = { ...last, toMs: interval.toMs ?? last.toMs };
    else result.push(interval);
  }
  return result;
}
