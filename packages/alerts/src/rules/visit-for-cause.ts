import { sayPercent } from '@duskline/domain';
import type { RuleFacts } from '../rule-facts.ts';

/** From here a cause is named, and packed for: as likely as not (our choice). */
const LIKELY = 0.5;

/**
 * What is to be done about a charge that runs down for a cause that diagnosis names; undefined where it names none
 * that a visit would mend. What to bring follows from the same cause (`bringForRule`).
 */
export function visitForCause({ power }: RuleFacts): { readonly todo: string } | undefined {
  const first = power?.causes[0];
  if (first === undefined || first.probability < LIKELY) return undefined;
  const likely = `most likely ${first.name} (${sayPercent(first.probability)})`;
  switch (first.cause) {
    case 'connector':
    case 'charger':
      return {
        todo: `Visit: ${likely}. Measure both sides of connector, fuse and charger.`,
      };
    case 'battery-aged':
      return {
        todo: `Log less, and change the battery: ${likely}.`,
      };
    default:
      return undefined;
  }
}
