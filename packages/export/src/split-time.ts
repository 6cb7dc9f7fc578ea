import type { AcceptedGap, Diagnosis, NodeInterval, NodeState, CauseKey } from '@duskline/domain';

/** Why there are no readings, in the words of gaps.csv. */
export const gapCauses = [
  'dark as designed',
  'fault',
  'link',
  'clock',
  'off for work',
  'unknown',
] as const;
export type GapCause = (typeof gapCauses)[number];

/** `high`: the node or a person said so; `medium`: figures say so; `low`: it is only not known better. */
export type Confidence = 'high' | 'medium' | 'low';

/** A stretch of the range: readings, or a gap with its reason. Stretches of a node follow each other without a hole. */
export interface Stretch {
  readonly fromMs: number;
  readonly toMs: number;
  /** Undefined: it was up, readings are there. */
  readonly gap?: {
    readonly cause: GapCause;
    readonly state: NodeState | 'not recorded';
    readonly confidence: Confidence;
    /** In sentences, the reason first. */
    readonly evidence: readonly string[];
    readonly accepted?: { readonly by: string; readonly reason: string };
  };
}

/**
 * Splits a range into readings and gaps, so that both together are the whole range. What no interval tells of (before the
 * node was put up, after the last look) is a gap of unknown cause.
 *
 * @param intervals of one node, by time, without overlap
 */
export function splitTime(
  range: { readonly fromMs: number; readonly toMs: number },
  intervals: readonly NodeInterval[],
  more: {
    readonly accepted?: readonly AcceptedGap[];
    readonly silence?: Diagnosis | undefined;
  } = {},
): readonly Stretch[] {
  const stretches: Stretch[] = [];
  let atMs = range.fromMs;
  const untold = (toMs: number): void => {
    if (toMs <= atMs) return;
    stretches.push({
      fromMs: atMs,
      toMs,
      gap: {
        cause: 'unknown',
        state: 'not recorded',
        confidence: 'low',
        evidence: [
          stretches.length === 0
            ? 'No state is recorded before: the node was not put up, or not heard yet.'
            : 'No state is recorded of this time.',
        ],
      },
    });
  };
  const silentSinceMs = openSilenceSince(intervals);
  for (const interval of intervals) {
    const fromMs = Math.max(interval.fromMs, range.fromMs);
    const toMs = Math.min(interval.toMs ?? Infinity, range.toMs);
    if (toMs <= fromMs || toMs <= atMs) continue;
    untold(fromMs);
    stretches.push(
      ...withAccepted(
        stretchOf(
          interval,
          Math.max(fromMs, atMs),
          toMs,
          interval.fromMs >= silentSinceMs ? more.silence : undefined,
        ),
        more.accepted,
      ),
    );
    atMs = toMs;
  }
  untold(range.toMs);
  return stretches;
}

const HEARD: ReadonlySet<NodeState> = new Set(['up', 'low']);

/**
 * Since when it has not been heard: a silence that lasts may have been called by several names, and what is known of it today
 * holds for all of it. Infinity when it is heard.
 */
function openSilenceSince(intervals: readonly NodeInterval[]): number {
  const last = intervals.at(-1);
  if (last === undefined || last.toMs !== undefined || HEARD.has(last.state)) return Infinity;
  const heard = intervals.findLastIndex(({ state }) => HEARD.has(state));
  return intervals[heard + 1]?.fromMs ?? Infinity;
}

function stretchOf(
  interval: NodeInterval,
  fromMs: number,
  toMs: number,
  silence: Diagnosis | undefined,
): Stretch {
  const { state } = interval;
  if (HEARD.has(state)) return { fromMs, toMs };
  const open = silence?.causes[0];
  const told = open === undefined ? undefined : diagnosed[open.cause];
  const evidence = [interval.cause, ...interval.evidence];
  if (told !== undefined && state !== 'dark-as-designed' && state !== 'off-for-work')
    return {
      fromMs,
      toMs,
      gap: {
        cause: told,
        state,
        confidence: (open?.probability ?? 0) >= 0.8 ? 'medium' : 'low',
        evidence: [
          ...evidence,
          `Most likely ${open?.name ?? ''} (${Math.round((open?.probability ?? 0) * 100)} %).`,
        ],
      },
    };
  return { fromMs, toMs, gap: { ...judged(interval), state, evidence } };
}

/** What a diagnosis of a silence that lasts comes to. */
const diagnosed: Readonly<Partial<Record<CauseKey, GapCause>>> = {
  'dark-declared': 'dark as designed',
  'dark-inferred': 'dark as designed',
  broken: 'fault',
  'link-one': 'link',
  'link-shared': 'link',
  'data-cap': 'link',
  theft: 'fault',
  'our-side': 'link',
  'clock-reset': 'clock',
  'awake-pattern': 'fault',
};

function judged({ state, cause, evidence }: NodeInterval): {
  readonly cause: GapCause;
  readonly confidence: Confidence;
} {
  switch (state) {
    case 'dark-as-designed':
      return {
        cause: 'dark as designed',
        confidence: [cause, ...evidence].some((text) =>
          /farewell|said it was shutting down|stopped itself/i.test(text),
        )
          ? 'high'
          : 'medium',
      };
    case 'off-for-work':
      return { cause: 'off for work', confidence: 'high' };
    case 'link-down':
      return { cause: 'link', confidence: 'medium' };
    case 'silent-unexplained':
      // The words of a past told anew (diagnosis: past-intervals).
      return /by a clock that cannot be trusted/.test(cause)
        ? { cause: 'clock', confidence: 'medium' }
        : { cause: 'unknown', confidence: 'low' };
    case 'overdue':
      return { cause: 'fault', confidence: 'low' };
    default:
      return { cause: 'unknown', confidence: 'low' };
  }
}

/** Cuts a gap where a person accepted it, so that the accepted part is named. */
function withAccepted(stretch: Stretch, accepted: readonly AcceptedGap[] = []): readonly Stretch[] {
  const { gap } = stretch;
  if (gap === undefined) return [stretch];
  const cuts = new Set([stretch.fromMs, stretch.toMs]);
  for (const one of accepted)
    for (const ms of [one.fromMs, endOf(one)])
      if (ms > stretch.fromMs && ms < stretch.toMs) cuts.add(ms);
  const edges = [...cuts].sort((a, b) => a - b);
  return edges.slice(1).map((toMs, i) => {
    const fromMs = edges[i] ?? stretch.fromMs;
    const by = accepted.find((one) => one.fromMs <= fromMs && endOf(one) >= toMs);
    return {
      fromMs,
      toMs,
      gap: by === undefined ? gap : { ...gap, accepted: { by: by.by, reason: by.reason } },
    };
  });
}

const endOf = ({ untilMs, endedAtMs }: AcceptedGap): number =>
  Math.min(untilMs, endedAtMs ?? untilMs);
