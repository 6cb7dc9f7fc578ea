import { HOUR_MS } from '@duskline/domain';
import { isDaylight, NOTHING, OPEN_BELOW_RATIO, THERE_V } from './day-signs.ts';
import type { PowerHours } from './power-hours.ts';

/** As for the voltage: fewer may be a dark morning (project choice). */
const LEAST_HOURS = 4;

/**
 * Since when nothing has come in, counted back from the newest hour: daylight hours without the panel's voltage, or without
 * power though the battery could take it. Hours that say neither are passed over; the first that brought something ends it.
 *
 * @returns undefined while something comes, or where fewer than four daylight hours say that nothing does
 */
export function harvestGone(
  hours: PowerHours,
): { readonly sinceMs: number; readonly hours: number } | undefined {
  const brightestW = Math.max(0, ...hours.expectedW);
  let gone = 0;
  let first = 0;
  for (let i = hours.expectedW.length - 1; i >= 0; i--) {
    const expectedW = hours.expectedW[i] ?? 0;
    if (!isDaylight(expectedW, brightestW)) continue;
    const panelW = hours.panelW[i] ?? null;
    if (panelW !== null && panelW > NOTHING * expectedW) break;
    const panelV = hours.panelV[i] ?? null;
    const isParted = panelV !== null && panelV <= THERE_V;
    if (!isParted && (panelW === null || !couldTake(hours, i))) continue;
    gone++;
    first = i;
  }
  return gone >= LEAST_HOURS
    ? { sinceMs: hours.startMs + first * HOUR_MS, hours: gone }
    : undefined;
}

function couldTake({ chargeRatio, batteryC, chargeLimitsC }: PowerHours, i: number): boolean {
  const [lowC, highC] = chargeLimitsC;
  const cellsC = batteryC[i] ?? null;
  const isFull = (chargeRatio[i] ?? 0) >= OPEN_BELOW_RATIO;
  return !isFull && (cellsC === null || (cellsC > lowC && cellsC < highC));
}
