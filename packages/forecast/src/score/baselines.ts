/** The plain rules an outlook has to beat. All give days to the shut-down level; Infinity = never. */

/** What the plain rules look at. */
export interface BaselineFacts {
  /** Mean harvest and load of past hours, W, newest last; null = not heard. */
  readonly panelW: readonly (number | null)[];
  readonly loadW: readonly (number | null)[];
  /** Usable energy above the shut-down level, Wh. */
  readonly reserveWh: number;
}

/**
 * Days to empty if every day went like the mean of the last hours: harvest taken, less load.
 *
 * @param lookBackH  how many hours: 24, or 7 · 24
 * @returns Infinity when the balance is not negative, or no hour was heard
 */
export function balanceDaysToEmpty(facts: BaselineFacts, lookBackH: number): number {
  const { panelW, loadW, reserveWh } = facts;
  let netWh = 0;
  let heard = 0;
  for (let i = Math.max(0, panelW.length - lookBackH); i < panelW.length; i++) {
    const harvest = panelW[i] ?? null;
    const load = loadW[i] ?? null;
    if (harvest === null || load === null) continue;
    netWh += harvest - load;
    heard++;
  }
  if (heard === 0 || netWh >= 0) return Number.POSITIVE_INFINITY;
  return Math.max(0, reserveWh) / ((-netWh / heard) * 24);
}

/**
 * Days to empty without any sun, at the mean load of the last seven days heard.
 *
 * @returns Infinity when no load was heard
 */
export function noSunDaysToEmpty({ loadW, reserveWh }: BaselineFacts): number {
  const heard = loadW.slice(-7 * 24).filter((load) => load !== null);
  const meanW = heard.reduce((sum, load) => sum + load, 0) / heard.length;
  return meanW > 0 ? Math.max(0, reserveWh) / (meanW * 24) : Number.POSITIVE_INFINITY;
}

/** How often a node was dark within seven days of an outlook, by month; the share of all months where one has no case. */
export function monthlyBaseRate(
  cases: readonly { readonly month: number; readonly happened: boolean }[],
): readonly number[] {
  const rate = (some: readonly { readonly happened: boolean }[]): number | undefined =>
    some.length === 0 ? undefined : some.filter((one) => one.happened).length / some.length;
  const overall = rate(cases) ?? 0;
  return Array.from(
    { length: 12 },
    (_, month) => rate(cases.filter((one) => one.month === month)) ?? overall,
  );
}
