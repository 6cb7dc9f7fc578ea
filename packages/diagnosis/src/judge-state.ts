import {
  HOUR_MS,
  SECOND_MS,
  sayDuration,
  sayFirstWindow,
  sayMoment,
  sayPercent,
  sayRoughly,
  type CauseKey,
  type HarvestStop,
  type NodeState,
  type RankedCause,
  type StateVerdict,
  type WorkNotice,
} from '@duskline/domain';
import { explainSilence } from './silence.ts';
import { silentAfterMs, type StateFacts } from './state-facts.ts';

export interface StateJudgement {
  readonly verdict: StateVerdict;
  /** When to judge again even if nothing arrives. */
  readonly nextCheckAtMs: number;
}

/** Charge within this much of the shut-down level is low (alert 1 of the rationalisation table; our choice). */
const LOW_ABOVE_LEVEL = 0.1;

/** Of a stretch in which it was heard, once that is over: its readings are what is known of it. */
export const WAS_HEARD = 'Its readings of this time are there.';

/** A node that sends its past is not judged by it before it has been quiet for so long (our choice). */
const TELLING_MS = 15 * SECOND_MS;

/**
 * The state a node is in, and why.
 *
 * @returns one of the nine states with its cause in a sentence, the evidence, and when to look again (at most an hour on)
 */
export function judgeState(facts: StateFacts): StateJudgement {
  const { nowMs, node, lastHeardAtMs } = facts;
  const inAnHour = nowMs + HOUR_MS;

  if (node.retiredAtMs !== undefined && node.retiredAtMs <= nowMs)
    return settled('retired', node.retiredAtMs, 'Taken out of service.', inAnHour);
  if (node.offForWork !== undefined && node.offForWork.untilMs > nowMs)
    return offForWork(facts, node.offForWork, inAnHour);
  if (lastHeardAtMs === undefined)
    return {
      verdict: {
        state: 'not-yet-proved',
        sinceMs: node.commissionedAtMs,
        cause: 'It has never been heard.',
        afterwards: 'It had not been heard yet.',
        settledBy: 'its first message',
        evidence: [],
      },
      nextCheckAtMs: inAnHour,
    };

  const silentAtMs = lastHeardAtMs + silentAfterMs(node);
  const saidFarewell =
    facts.lastWord?.kind === 'farewell' &&
    facts.lastWord.atMs >= (facts.lastObservedAtMs ?? 0) - 1000;
  if (nowMs < silentAtMs && !saidFarewell)
    return heard(facts, lastHeardAtMs, Math.min(silentAtMs, inAnHour));
  const tellsUntilMs = (facts.lastReceivedAtMs ?? 0) + TELLING_MS;
  if (nowMs < tellsUntilMs && nowMs >= silentAtMs) return telling(facts, tellsUntilMs);
  return silent(facts, lastHeardAtMs, inAnHour);
}

function settled(state: NodeState, sinceMs: number, cause: string, nextCheckAtMs: number) {
  return { verdict: { state, sinceMs, cause, evidence: [] }, nextCheckAtMs };
}

function offForWork({ site }: StateFacts, work: WorkNotice, inAnHour: number): StateJudgement {
  return {
    verdict: {
      state: 'off-for-work',
      sinceMs: work.fromMs,
      cause: `${work.owner} has it off for work: ${work.reason}.`,
      afterwards: `${work.owner} had it off for work: ${work.reason}.`,
      settledBy: `the end of the work, ${sayMoment(work.untilMs, site.timeZone)}`,
      evidence: [],
    },
    nextCheckAtMs: Math.min(work.untilMs, inAnHour),
  };
}

function heard(facts: StateFacts, lastHeardAtMs: number, nextCheckAtMs: number): StateJudgement {
  const { charge, node, harvestStop } = facts;
  const level = node.power.shutDownRatio;
  if (charge !== undefined && charge.ratio <= level + LOW_ABOVE_LEVEL)
    return {
      verdict: {
        state: 'low',
        sinceMs: lastHeardAtMs,
        cause: `Charge ${sayPercent(charge.ratio)}, within ten points of the shut-down level of ${sayPercent(level)}.`,
        afterwards: `Its charge was within ten points of the shut-down level of ${sayPercent(level)}.`,
        settledBy: harvestStop === undefined ? 'sun, or a visit' : sayMending(harvestStop),
        evidence: [],
      },
      nextCheckAtMs,
    };
  const cause =
    charge === undefined
      ? 'Heard lately; its charge is not known.'
      : `Heard lately; charge ${sayPercent(charge.ratio)}.`;
  return {
    verdict: { state: 'up', sinceMs: lastHeardAtMs, cause, afterwards: WAS_HEARD, evidence: [] },
    nextCheckAtMs,
  };
}

/** Only hands help where no harvest can come in. */
const sayMending = ({ cause, probability }: HarvestStop): string =>
  `a visit: most likely ${cause} (connector and charger taken together: ${sayPercent(probability)}), and sun alone does not mend that`;

/** Its past is coming in, so it, or its card, is there: what it says of today comes last. */
function telling(
  { nowMs, site, firstHeardAtMs, lastObservedAtMs }: StateFacts,
  nextCheckAtMs: number,
): StateJudgement {
  const upTo =
    lastObservedAtMs === undefined
      ? ''
      : ` and has come to ${sayMoment(lastObservedAtMs, site.timeZone)}`;
  return {
    verdict: {
      state: 'up',
      sinceMs: firstHeardAtMs ?? nowMs,
      cause: `It is sending right now: it hands in what it had kept${upTo}. What it says of today comes last.`,
      afterwards: WAS_HEARD,
      settledBy: 'the end of what it had kept',
      evidence: [],
    },
    nextCheckAtMs,
  };
}

function silent(facts: StateFacts, lastHeardAtMs: number, inAnHour: number): StateJudgement {
  const { nowMs } = facts;
  const silence = explainSilence(facts);
  switch (silence.kind) {
    case 'everyone':
      return {
        verdict: {
          state: 'link-down',
          sinceMs: lastHeardAtMs,
          cause: 'No node at all is heard: the fault is probably on our side or on a shared link.',
          afterwards:
            'No node at all was heard: the fault was probably on our side or on a shared link.',
          settledBy: 'the first message of any node',
          evidence: [],
        },
        nextCheckAtMs: inAnHour,
      };
    case 'unexplained': {
      const link = likelyLink(facts);
      if (link !== undefined) return linkDown(link, lastHeardAtMs, inAnHour);
      return {
        verdict: {
          state: 'silent-unexplained',
          sinceMs: lastHeardAtMs,
          cause: `Nothing heard for ${sayDuration(nowMs - lastHeardAtMs)}, and its charge does not explain it.`,
          afterwards: 'Nothing was heard, and its charge did not explain it.',
          settledBy: 'its next message, or a visit',
          evidence: silence.evidence,
        },
        nextCheckAtMs: inAnHour,
      };
    }
    case 'declared':
    case 'inferred':
      return dark(facts, silence, inAnHour);
  }
}

const LINK_CAUSES: readonly CauseKey[] = ['link-one', 'link-shared', 'data-cap', 'our-side'];

/** The link, where the ranked causes give it at least an even chance. */
function likelyLink({ silence }: StateFacts): RankedCause | undefined {
  const first = silence?.causes[0];
  return first !== undefined && LINK_CAUSES.includes(first.cause) && first.probability >= 0.5
    ? first
    : undefined;
}

function linkDown(cause: RankedCause, sinceMs: number, nextCheckAtMs: number): StateJudgement {
  return {
    verdict: {
      state: 'link-down',
      sinceMs,
      cause: `Most likely ${cause.name} (${sayPercent(cause.probability)}).`,
      afterwards: `Nothing was heard; most likely then: ${cause.name} (${sayPercent(cause.probability)}).`,
      settledBy: cause.settledBy,
      evidence: cause.evidenceFor,
    },
    nextCheckAtMs,
  };
}

function dark(
  facts: StateFacts,
  silence: {
    readonly kind: 'declared' | 'inferred';
    readonly sinceMs: number;
    readonly evidence: readonly string[];
  },
  inAnHour: number,
): StateJudgement {
  const { nowMs, node, harvestStop, firstWindow } = facts;
  const { timeZone } = facts.site;
  const { evidence } = silence;
  const windows =
    firstWindow === undefined ? '' : sayFirstWindow(firstWindow, timeZone, facts.toldOverdueAtMs);
  const p90Ms = firstWindow?.p90Ms;
  const settledBy = (alone: string): string =>
    [harvestStop === undefined ? alone : sayMending(harvestStop), windows]
      .filter((part) => part !== '')
      .join('. ');
  if (p90Ms !== undefined && nowMs > p90Ms)
    return {
      verdict: {
        state: 'overdue',
        sinceMs: p90Ms,
        cause: `Dark since ${sayMoment(silence.sinceMs, timeZone)}; it should have been back by ${sayRoughly(p90Ms, nowMs, timeZone)}.`,
        afterwards: `It stopped itself on ${sayMoment(silence.sinceMs, timeZone)} and was not back by ${sayMoment(p90Ms, timeZone)}, when it should have been.`,
        settledBy: settledBy('its next message, or a visit'),
        evidence,
      },
      nextCheckAtMs: inAnHour,
    };
  const how =
    silence.kind === 'declared' ? 'as it said it would' : 'as its falling charge foretold';
  return {
    verdict: {
      state: 'dark-as-designed',
      sinceMs: silence.sinceMs,
      cause: `It stopped itself on ${sayMoment(silence.sinceMs, timeZone)}, ${how}.`,
      settledBy: settledBy(
        `its next message, when the charge is back at ${sayPercent(node.power.restartRatio)}`,
      ),
      evidence,
    },
    nextCheckAtMs: p90Ms === undefined ? inAnHour : Math.min(inAnHour, p90Ms + 1),
  };
}
