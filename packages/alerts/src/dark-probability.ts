import type { Outlook } from '@duskline/domain';

/**
 * Chance (0–1) of reaching the shut-down level within `days` (0–14), linear between the days an outlook states.
 *
 * @returns undefined when the outlook has too little data to say
 */
export function darkProbabilityWithin(outlook: Outlook, days: number): number | undefined {
  if (outlook.kind === 'insufficient-data') return undefined;
  const known: readonly (readonly [number, number])[] = [
    [0, 0],
    [3, outlook.darkWithin3DaysProbability],
    [7, outlook.darkWithin7DaysProbability],
    [14, outlook.darkWithin14DaysProbability],
  ];
  for (let i = 1; i < known.length; i++) {
    const [fromDay, fromP] = known[i - 1] ?? [0, 0];
    const [toDay, toP] = known[i] ?? [0, 0];
    if (days <= toDay) return fromP + ((toP - fromP) * (days - fromDay)) / (toDay - fromDay);
  }
  return outlook.darkWithin14DaysProbability;
}
