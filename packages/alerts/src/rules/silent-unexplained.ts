import { MINUTE_MS, sayMoment, sayPercent, type ChargeEstimate, type Site } from '@duskline/domain';
import { visitCautions } from '../cautions.ts';
import { defineRule } from '../rule.ts';
import { today } from '../today.ts';
import { bringForRule } from '../rounds/bring-for-rule.ts';

/** A fall of the signal over 14 days that makes the link the first suspect, dB: as the causes of silence weigh it, 0.3 a day. */
const FALLING_DB = 4.2;

/** What is known is stated, and asked of nobody. Short enough to stand whole in a message. */
function whatToDo(
  charge: ChargeEstimate | undefined,
  signalChangeDb: number | undefined,
  { landOwner }: Pick<Site, 'landOwner'>,
): string {
  // Where no number is written down there is nobody to call.
  const calls = landOwner !== undefined;
  if (signalChangeDb !== undefined && signalChangeDb < -FALLING_DB)
    return `${calls ? 'Call the land-owner. ' : ''}Its signal fell before: wait one bright day, then visit: aerial, its cable, board.`;
  return `${calls ? 'Call the land-owner, then visit' : 'Visit'}: board, card, power, aerial.${sayGood(charge !== undefined, signalChangeDb !== undefined)}`;
}

function sayGood(isCharge: boolean, isSignal: boolean): string {
  if (isCharge && isSignal) return ' Charge and signal were good.';
  if (isCharge) return ' Charge was good before.';
  return isSignal ? ' Signal was good before.' : '';
}

function saySignal(signalChangeDb: number | undefined): string {
  if (signalChangeDb === undefined) return '';
  return signalChangeDb < -FALLING_DB
    ? ` Its signal fell by ${Math.round(-signalChangeDb)} dB in 14 days.`
    : ' Its signal had not been falling.';
}

/** Silent, unexplained: the charge was healthy, it said no farewell, and others are heard. Broken, stolen, or a link. */
export const silentUnexplained = defineRule({
  key: 'silent-unexplained',
  name: 'Silent, unexplained',
  why: 'Broken, stolen, or its link.',
  who: 'on-call volunteer, the same day; at once where the site is marked critical',
  settings: {},
  // The state itself waits three usual gaps, at least two hours; a minute more lets a broken-off upload go on. Off at two messages.
  onDelay: { ms: MINUTE_MS, runs: 1 },
  offDelay: { ms: 0, runs: 2 },
  quietUnder: ['shared-link-down', 'not-ours'],
  evaluate(facts) {
    const { site, node, verdict, charge, lastHeardAtMs, silence, critical, housekeeping } = facts;
    if (verdict.state === 'up' || verdict.state === 'low')
      return { kind: 'clear', why: 'It is heard again.' };
    if (verdict.state === 'link-down') return { kind: 'undecided' };
    if (verdict.state !== 'silent-unexplained')
      return { kind: 'quiet', why: `The node is ${verdict.state.replaceAll('-', ' ')}.` };
    const heard = lastHeardAtMs === undefined ? 'never' : sayMoment(lastHeardAtMs, site.timeZone);
    const last =
      charge === undefined ? 'its charge is not known' : `charge then ${sayPercent(charge.ratio)}`;
    const likely = silence?.causes[0];
    const cause =
      likely === undefined
        ? ''
        : ` Most likely ${likely.name} (${sayPercent(likely.probability)}).`;
    return {
      kind: 'holds',
      priority: critical === true ? 'P1' : 'P2',
      text: {
        sentence: `${site.name} is silent; its charge does not explain it.`,
        figures:
          `Last heard ${heard}, ${last}.${saySignal(housekeeping?.signalChangeDb)}${cause} ${verdict.evidence
            .slice(1)
            .map((line) => `${line}.`)
            .join(' ')}`.trim(),
        byWhen: critical === true ? 'now: a critical site' : today(facts),
        todo: whatToDo(charge, housekeeping?.signalChangeDb, site),
        bring: bringForRule('silent-unexplained', facts),
        cautions: visitCautions(node.power.battery.chemistry),
      },
    };
  },
});
