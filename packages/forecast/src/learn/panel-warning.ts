import type { ClearDay } from './clear-days.ts';
import type { PanelWarning } from './learnt-site.ts';
import { median } from './robust.ts';

const LATELY_DAYS = 14;
const BEFORE_DAYS = 46;
/** Six dry weeks of the worst usual dust cost 13 %: a fifth in a fortnight is something else. */
const FALL = 0.2;
const LEAST_CLEAR_DAYS = 2;

/**
 * Whether the panel gives markedly less than it did, on days whose sky was clear.
 *
 * @param days   clear days, ascending
 * @param today  solar day to look back from
 * @returns undefined when it does not, or when too few clear days can tell
 * @source Kimber et al. 2006 (IEEE 4th WCPEC): 0.15 % a day of dust as a rule, 0.3 % at most in the country; fall of a fifth in
 *         fourteen days: project research note §8.2
 */
export function panelWarning(days: readonly ClearDay[], today: number): PanelWarning | undefined {
  const between = (from: number, to: number): readonly number[] =>
    days.filter(({ day }) => day > today - to && day <= today - from).map(({ ratio }) => ratio);
  const lately = between(0, LATELY_DAYS);
  const before = between(LATELY_DAYS, LATELY_DAYS + BEFORE_DAYS);
  if (lately.length < LEAST_CLEAR_DAYS || before.length < LEAST_CLEAR_DAYS) return undefined;
  const fromRatio = median(before);
  // The newest clear days: what happened ten days ago must not be hidden by the days before it.
  const toRatio = median(lately.slice(-3));
  if (toRatio > (1 - FALL) * fromRatio) return undefined;
  const percent = (ratio: number): number => Math.round(100 * ratio);
  return {
    kind: 'scale-falls',
    fromRatio,
    toRatio,
    clearDays: lately.length,
    says:
      `On clear days the panel now gives ${percent(toRatio)} % of what a cloudless sky allows; ` +
      `before it gave ${percent(fromRatio)} %. Dust does not do that in ${LATELY_DAYS} days: ` +
      'look for snow, leaves, new shade, a loose connector or damage.',
  };
}
