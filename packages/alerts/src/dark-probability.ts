import type { Outlook } from '@duskline/domain';

/** What an outlook states of the days ahead; chances 0–1. */
export interface DarkChances {
  readonly darkWithin3DaysProbability: number;
  readonly darkWithin7DaysProbability: number;
  readonly darkWithin14DaysProbability: number;
}

/** As `chanceWithin`; undefined when the outlook has too little data to say. */
export function darkProbabilityWithin(outlook: Outlook, days: number): number | undefined {
  return outlook.kind === 'insufficient-data' ? undefined : chanceWithin(outlook, days);
}

/** Chance (0–1) of reaching the shut-down level within `days` (0–14), linear between the days an outlook states. */
export function chanceWithin(chances: DarkChances, days: number): number {
  const known: readonly (readonly [number, number])[] = [
    [0, 0],
    [3, chances.darkWithin3DaysProbability],
    [7, chances.darkWithin7DaysProbability],
    [14, chances.darkWithin14DaysProbability],
  ];
  for (let i = 1; i < known.length; i++) {
    const [fromDay, fromP] = known[i - 1] ?? [0, 0];
    const [toDay, toP] = known[i] ?? [0, 0];
    if (days <= toDay) return fromP + ((toP - fromP) * (days - fromDay)) / (toDay - fromDay);
  }
  return chances.darkWithin14DaysProbability;
}
