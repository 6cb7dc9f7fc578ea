import { sayMoment } from './say-time.ts';
import { visitDeedWord, type VisitStep } from './visit.ts';

/**
 * The line a step of a visit leaves in the logbook.
 *
 * @param who name of the person who goes
 * @returns undefined for steps that are nobody's news: ticks, and asking for more time
 */
export function visitEventSentence(
  step: VisitStep,
  who: string,
  timeZone: string,
): string | undefined {
  switch (step.kind) {
    case 'set-out': {
      const company = step.companions === '' ? '' : ` with ${step.companions}`;
      return `${who} set out${company}, to be back by ${sayMoment(step.backByMs, timeZone)}.`;
    }
    case 'back':
      return `${who} ${didAndFound(step, 'was there')}`;
    case 'add':
      return `${step.by} added to the report of ${who}’s visit: ${didAndFound(step)}`;
    case 'note':
      return `${who} noted: ${step.text}`;
    case 'call-off':
      return `${who} called the visit off: ${step.why}`;
    case 'later':
    case 'tick':
    case 'untick':
      return undefined;
  }
}

/**
 * The line a visit leaves in the logbook when it is planned.
 *
 * @param who  name of the person who goes
 */
export const visitPlannedSentence = (
  { plannedAtMs, why }: { readonly plannedAtMs: number; readonly why: string },
  who: string,
  timeZone: string,
): string =>
  `Visit planned: ${who} means to set out ${sayMoment(plannedAtMs, timeZone)}. Why: ${why}`;

/**
 * The line a visit leaves in the logbook when it is moved.
 *
 * @param who  name of the person who goes from then on
 */
export const visitMovedSentence = (
  { plannedAtMs, why }: { readonly plannedAtMs: number; readonly why: string },
  who: string,
  timeZone: string,
): string =>
  `Visit moved: ${who} means to set out ${sayMoment(plannedAtMs, timeZone)}. Why: ${why}`;

/** "cleaned the panel. Found: moss." `otherwise`: where nothing was done. */
function didAndFound(
  { deeds, found }: Pick<Extract<VisitStep, { kind: 'back' }>, 'deeds' | 'found'>,
  otherwise = '',
): string {
  const did = deeds.length === 0 ? otherwise : listed(deeds.map((deed) => visitDeedWord[deed]));
  return [did === '' ? '' : `${did}.`, found === '' ? '' : `Found: ${found}`]
    .filter((part) => part !== '')
    .join(' ');
}

/** "a, b and c". */
const listed = (all: readonly string[]): string =>
  all.length < 2 ? (all[0] ?? '') : `${all.slice(0, -1).join(', ')} and ${all.at(-1) ?? ''}`;
