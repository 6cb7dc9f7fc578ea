import { daylightPoints } from './daylight-points.ts';
import { createPanelChain, type PanelChainInputs } from './panel-chain.ts';
import { requireFinite, requireWithin } from './require-number.ts';

const MOST_HOURS = 24 * 366 * 20;

/** A skyline cuts the sun off within the hour, which no smooth rule sees: then an hour is done in six parts of ten minutes. */
const SKYLINE_PIECES = 6;

/**
 * Energy of the nominal panel in each hour under a cloudless sky: E_ref, the base of the yield ratio.
 *
 * Summed over `daylightPoints`. 60 days take about 3 ms.
 *
 * @param inputs.startMs  start of the first hour, Unix ms (any instant; hours follow each other from there)
 * @param inputs.hours    how many, whole, ≥ 0
 * @param inputs          site and panel as in `createPanelChain`; with `clearSkyIndex` the same under cloud
 * @returns Wh per hour, `hours` long; zeros at night
 * @throws EnergyInputError when an input is out of range
 * @accuracy 0.3 % of a day's sum against 1-minute midpoints of the same chain; the sky itself within 1 % of
 *           test/reference/energy/clear-sky-daily.test.ts (27 site-days)
 * @source the chain of `createPanelChain`, the quadrature of `daylightPoints`
 */
export function referenceHourlyWh(
  inputs: PanelChainInputs & { readonly startMs: number; readonly hours: number },
): Float64Array {
  const { startMs, hours, position } = inputs;
  requireFinite('startMs', startMs);
  requireWithin('hours', hours, [0, MOST_HOURS]);
  const panelW = createPanelChain(inputs);
  const energyWh = new Float64Array(Math.floor(hours));
  const pieces = inputs.horizon === undefined ? 1 : SKYLINE_PIECES;
  daylightPoints({ startMs, hours: energyWh.length, position, pieces }, (atMs, weightH, hour) => {
    energyWh[hour] = energyWh[hour]! + panelW(atMs) * weightH;
  });
  return energyWh;
}
