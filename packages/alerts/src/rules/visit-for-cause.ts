import { sayPercent } from '@duskline/domain';
import type { RuleFacts } from '../rule-facts.ts';

/** From here a cause is named, and packed for: as likely as not (our choice). */
const LIKELY = 0.5;

/**
 * What is to be done, and brought, about a charge that runs down for a cause that diagnosis names; undefined where it names none
 * that a visit would mend. Whoever reads of a low charge alone would leave without the spare plug.
 */
export function visitForCause({
  power,
  node,
}: RuleFacts): { readonly todo: string; readonly bring: string } | undefined {
  const first = power?.causes[0];
  if (first === undefined || first.probability < LIKELY) return undefined;
  const likely = `most likely ${first.name} (${sayPercent(first.probability)})`;
  const batteryWh = Math.round(node.power.battery.ratedWh);
  switch (first.cause) {
    case 'connector':
    case 'charger':
      return {
        todo: `Visit: ${likely}. Measure both sides of connector, fuse and charger.`,
        bring: `meter, spare connectors, fuse, cable, charged ${batteryWh} Wh battery`,
      };
    case 'battery-aged':
      return {
        todo: `Log less, and change the battery: ${likely}.`,
        bring: `new ${batteryWh} Wh battery, torque tool, insulated spanner, meter`,
      };
    default:
      return undefined;
  }
}
