import { isDaylight, NOTHING, THERE_V } from './day-signs.ts';
import type { PowerHours } from './power-hours.ts';

/** An hour without voltage may be a slip of the gauge or a dark morning; so many in a row are not (project choice). */
const LEAST_HOURS = 4;

/**
 * How many daylight hours the panel's voltage has now been away, counted back from the newest, today's among them: a plug
 * that failed this morning need not wait for midnight to be found out. Hours that say nothing of the panel are passed over.
 *
 * @returns undefined where it is there, was not measured, or has been away for less than four daylight hours
 */
export function voltageGoneHours(hours: PowerHours): number | undefined {
  const brightestW = Math.max(0, ...hours.expectedW);
  let gone = 0;
  for (let i = hours.expectedW.length - 1; i >= 0; i--) {
    const expectedW = hours.expectedW[i] ?? 0;
    const panelV = hours.panelV[i] ?? null;
    if (panelV === null || !isDaylight(expectedW, brightestW)) continue;
    const gives = (hours.panelW[i] ?? 0) > NOTHING * expectedW;
    if (panelV > THERE_V || gives) break;
    gone++;
  }
  return gone >= LEAST_HOURS ? gone : undefined;
}
