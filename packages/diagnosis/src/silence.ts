import { DAY_MS, sayPercent } from '@duskline/domain';
import type { StateFacts } from './state-facts.ts';

/** Why a silent node fell silent, as far as its last words and readings tell. */
export type Silence =
  | { readonly kind: 'declared'; readonly sinceMs: number; readonly evidence: readonly string[] }
  | { readonly kind: 'inferred'; readonly sinceMs: number; readonly evidence: readonly string[] }
  | { readonly kind: 'everyone' }
  | { readonly kind: 'unexplained'; readonly evidence: readonly string[] };

const SAID_IT_STOPS = 'Its last message said it was shutting down';

/** Is this a piece of evidence that the node itself said it would stop? Of older judgements too, which said it otherwise. */
export const saysItStops = (evidence: string): boolean =>
  evidence.startsWith(SAID_IT_STOPS) || evidence.startsWith('It said farewell');

/** Points above the shut-down level within which the end of the charge explains a silence, given the band. */
const NEAR_LEVEL = 0.03;
/** With an outlook that foresaw the stop, the last charge may have been further off. */
const FORESEEN_NEAR_LEVEL = 0.15;

/**
 * Explains a silence from what was last known.
 *
 * A farewell is believed. Without one, dark as designed is inferred when the lower end of the charge band had come within
 * 3 points of the shut-down level, or when the outlook had put the stop at that time and the charge was within 15 points.
 * Source: trade practice, no source; the thresholds are ours.
 */
export function explainSilence(facts: StateFacts): Silence {
  const { node, charge, lastWord, lastHeardAtMs, others } = facts;
  const level = node.power.shutDownRatio;
  const sinceMs = facts.lastObservedAtMs ?? lastHeardAtMs ?? facts.nowMs;
  const chargeSaid =
    charge === undefined
      ? 'No charge is known from its last readings'
      : `Last charge ${sayPercent(charge.ratio)} (${sayPercent(charge.lowRatio)}–${sayPercent(charge.highRatio)}), shut-down level ${sayPercent(level)}`;

  if (lastWord?.kind === 'farewell')
    return {
      kind: 'declared',
      sinceMs: lastWord.atMs,
      evidence: [`${SAID_IT_STOPS}: ${lastWord.reason}`, chargeSaid],
    };

  const near = charge !== undefined && charge.lowRatio <= level + NEAR_LEVEL;
  const before = facts.outlookBefore;
  const foreseen =
    before?.kind === 'empties-in' &&
    sinceMs >= before.issuedAtMs + before.p10Days * DAY_MS - DAY_MS / 2 &&
    charge !== undefined &&
    charge.ratio <= level + FORESEEN_NEAR_LEVEL;
  if (near || foreseen) {
    const evidence = [chargeSaid];
    if (foreseen) evidence.push('Its outlook had put the stop at this time');
    return { kind: 'inferred', sinceMs, evidence };
  }

  if (others.expected >= 3 && others.heard === 0) return { kind: 'everyone' };

  const evidence = [chargeSaid];
  if (lastWord?.kind === 'dropped')
    evidence.push('Its link broke off; no message said that it was shutting down');
  else evidence.push('No message said that it was shutting down');
  if (others.expected > 0)
    evidence.push(`${others.heard} of ${others.expected} other nodes are heard`);
  return { kind: 'unexplained', evidence };
}
