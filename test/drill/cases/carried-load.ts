import { HOUR_MS } from '@duskline/domain';
import {
  surroundingsOf,
  type PanelFate,
  type SimulatedSite,
  type Weather,
} from '@duskline/simulator';

/** The weeks a load has to be carried through. */
export interface Stretch {
  readonly weather: Weather;
  readonly fromMs: number;
  readonly untilMs: number;
  /** Charge at the start, 0–1. */
  readonly startRatio: number;
  readonly fate?: PanelFate;
  /** From here on what lies on the glass, or keeps the cells from being charged, is the case, for which nobody sizes a site. */
  readonly onsetMs?: number;
  /** Cold cells are charged all the same. */
  readonly chargesCold?: boolean;
  /** Meant to be emptied and filled again: the share alone counts. */
  readonly isLean?: boolean;
}

/** What is lost from the panel to the cells, and out of cold cells again: rather too much than too little (assumption). */
const INTO_CELLS = 0.85;
const OUT_OF_CELLS = 0.8;
/** A battery in its box follows the air within hours, a little above it: as the simulator has it. */
const BATTERY_LAG_H = 4;
const ABOVE_AIR_K = 2;

/**
 * The site with a load that its harvest carries, as a builder sizes it who knows the place: a share of the mean harvest,
 * or less where this weather has a dark stretch that would eat more than half of what is above its shut-down level. So
 * no weather stops it before its case begins.
 *
 * @param share of the mean harvest of a clean panel
 */
export function carriedLoad(
  site: SimulatedSite,
  index: number,
  stretch: Stretch,
  share: number,
): SimulatedSite {
  const hours = harvestOf(site, index, stretch);
  const meanW = hours.reduce((sum, { cleanW }) => sum + cleanW, 0) / hours.length;
  const { startRatio, isLean = false } = stretch;
  const floorRatio = (startRatio + site.power.shutDownRatio) / 2;
  const capacityWh = site.power.battery.ratedWh;
  const staysAbove = (loadW: number) =>
    lowestWh(hours, loadW, { startWh: startRatio * capacityWh, capacityWh }) >=
    floorRatio * capacityWh;
  let loadW = share * meanW;
  while (!isLean && !staysAbove(loadW)) loadW *= 0.98;
  return { ...site, loadW };
}

interface HarvestHour {
  /** Of a clean panel, and of what the battery is offered of it, W. */
  readonly cleanW: number;
  readonly offeredW: number;
}

function harvestOf(site: SimulatedSite, index: number, stretch: Stretch): readonly HarvestHour[] {
  const { weather, fromMs, untilMs, fate = {}, onsetMs = Infinity, chargesCold } = stretch;
  const clean = surroundingsOf(site, index, weather, untilMs);
  const isLead = site.power.battery.chemistry.startsWith('lead');
  const hours: HarvestHour[] = [];
  let batteryC = Infinity;
  for (let atMs = fromMs; atMs < untilMs; atMs += HOUR_MS) {
    const { sky, panelW } = clean(atMs);
    const boxC = sky.airC + ABOVE_AIR_K;
    batteryC = batteryC === Infinity ? boxC : batteryC + (boxC - batteryC) / BATTERY_LAG_H;
    const isBlocked = !isLead && chargesCold !== true && batteryC < 0;
    const through = isBlocked ? 0 : (fate.throughGlassAt?.(atMs) ?? 1);
    hours.push({ cleanW: panelW, offeredW: atMs < onsetMs ? panelW * through : panelW });
  }
  return hours;
}

/** The least that is stored on the way, Wh. */
function lowestWh(
  hours: readonly HarvestHour[],
  loadW: number,
  { startWh, capacityWh }: { readonly startWh: number; readonly capacityWh: number },
): number {
  let storedWh = startWh;
  let lowest = startWh;
  for (const { offeredW } of hours) {
    const netWh = offeredW - loadW;
    storedWh += netWh > 0 ? netWh * INTO_CELLS : netWh / OUT_OF_CELLS;
    storedWh = Math.min(capacityWh, storedWh);
    lowest = Math.min(lowest, storedWh);
  }
  return lowest;
}
