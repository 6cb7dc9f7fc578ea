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
