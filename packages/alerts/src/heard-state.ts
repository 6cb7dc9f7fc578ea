import type { CauseKey } from '@duskline/domain';
import type { RuleFacts, RuleFinding } from './rule.ts';

/** Rules about a node that speaks are quiet while it does not: nobody could act on them. */
export function quietUnlessHeard({ verdict }: RuleFacts): RuleFinding | undefined {
  return verdict.state === 'up' || verdict.state === 'low'
    ? undefined
    : { kind: 'quiet', why: `The node is ${verdict.state.replaceAll('-', ' ')}.` };
}

/** A coordinator accepts that the site is dark: quiet by design, with an owner and an end. */
export function quietWhileAccepted({ acceptedGap, nowMs }: RuleFacts): RuleFinding | undefined {
  return acceptedGap === undefined || acceptedGap.untilMs <= nowMs
    ? undefined
    : { kind: 'quiet', why: `${acceptedGap.by} accepts that the site is dark for now.` };
}

/** What a person has to mend before the sun can bring a node back (nothing comes in with either). */
const TO_BE_MENDED: readonly CauseKey[] = ['connector', 'charger'];
const LIKELY = 0.5;

/**
 * It stopped itself in good order, but for a fault: it will not come back by itself, so a call that stands goes on standing
 * and what follows from the fault joins it.
 */
export const isDarkForFault = ({ verdict, power }: RuleFacts): boolean => {
  const first = power?.causes[0];
  return (
    (verdict.state === 'dark-as-designed' || verdict.state === 'overdue') &&
    first !== undefined &&
    TO_BE_MENDED.includes(first.cause) &&
    first.probability >= LIKELY
  );
};
