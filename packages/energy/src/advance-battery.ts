import type { BatteryPack } from './battery-pack.ts';
import { chargeRateLimitPerH } from './charge-limit.ts';

const HOURS_PER_MONTH = 730.5; // 365.25 days / 12

/** Below this share of the full-rate current a charger calls the battery full: C/30 of a ceiling of C/2. */
const TAPER_FLOOR = 1 / 15;

/** A step holds at most two turns and four stretches of charging; more would be a fault of the levels. */
const MOST_STRETCHES = 12;

/**
 * One battery on its way through time, changed in place: state, what is done to it, and what came of the last step.
 * The one mutable object of this package, so that 500 paths × 720 hours allocate nothing.
 */
export interface BatteryWalk {
  /** State: charge as a share of present capacity, 0 … 1. */
  chargeRatio: number;
  /** State: shut down, waiting for the restart level. */
  dark: boolean;

  /** Set before a step: mean panel power available, W. */
  harvestW: number;
  /** Set before a step: drawn while up, W. While dark the pack's off-state draw counts instead. */
  loadW: number;
  /** Set before a step: battery temperature, °C. */
  batteryC: number;
  /** Set before a step: its length, h. */
  hours: number;

  /** Outcome: hours of the step spent up. A step that began up and ended dark went dark after so many hours. */
  upHours: number;
  /** Outcome: energy the node received, Wh. */
  servedWh: number;
  /** Outcome: energy the cells gained by charging, Wh. */
  storedWh: number;
  /** Outcome: energy the cells gave, Wh. */
  drawnWh: number;
  /** Outcome: energy the panel could have given and nothing took, Wh at the panel. */
  spilledWh: number;
}

/** A walk at its start. The pack is at 25 °C and nothing flows until the caller says so. */
export function startBatteryWalk(chargeRatio: number, state: 'up' | 'dark' = 'up'): BatteryWalk {
  return {
    chargeRatio,
    dark: state === 'dark',
    harvestW: 0,
    loadW: 0,
    batteryC: 25,
    hours: 1,
    upHours: 0,
    servedWh: 0,
    storedWh: 0,
    drawnWh: 0,
    spilledWh: 0,
  };
}

/**
 * Carries a battery through one step with constant harvest, load and temperature. Inputs are trusted: `stepBattery` checks them.
 *
 * Within the step the answer is exact, not one Euler step: the walk is cut where the node goes dark or comes back and where the
 * charger begins to taper, and each stretch has a closed form. So one step of an hour equals sixty of a minute.
 * The panel serves the load first; what is left charges, within the temperature band's rate and the taper towards full;
 * the rest is spilled. The charge ratio refers to the capacity at the step's temperature: a pack that cools keeps its ratio.
 *
 * @accuracy energy closes to 1e-9 Wh; hour against minutes 1e-6 of charge (self-discharge is applied at a step's end):
 *           advance-battery.test.ts
 * @source ours: research note of this project §7, derivation in README
 */
export function advanceBattery(pack: BatteryPack, walk: BatteryWalk): void {
  walk.upHours = 0;
  walk.servedWh = 0;
  walk.storedWh = 0;
  walk.drawnWh = 0;
  walk.spilledWh = 0;
  const capacityWh = pack.capacityWh * pack.facts.capacityFactorAt(walk.batteryC);
  const ceilingW = capacityWh * chargeRateLimitPerH(pack.facts, walk.batteryC);

  let leftH = walk.hours;
  for (let stretch = 0; leftH > 0 && stretch < MOST_STRETCHES; stretch += 1) {
    turnAtLevels(pack, walk);
    const wasUp = !walk.dark;
    const wantedW = walk.dark ? pack.offStateDrawW : walk.loadW;
    const spentH =
      wantedW > walk.harvestW * pack.chargerEfficiency
        ? drawStretch(pack, walk, { capacityWh, wantedW, leftH })
        : chargeStretch(pack, walk, { capacityWh, wantedW, leftH, ceilingW });
    if (wasUp) walk.upHours += spentH;
    leftH -= spentH;
  }
  walk.chargeRatio *= 1 - (pack.facts.selfDischargePerMonth / HOURS_PER_MONTH) * walk.hours;
  turnAtLevels(pack, walk);
}

function turnAtLevels(pack: BatteryPack, walk: BatteryWalk): void {
  if (walk.dark) {
    if (walk.chargeRatio >= pack.restartRatio) walk.dark = false;
  } else if (walk.chargeRatio <= pack.shutDownRatio) {
    walk.dark = true;
  }
}

interface Stretch {
  readonly capacityWh: number;
  readonly wantedW: number;
  readonly leftH: number;
}

/** The panel gives less than is wanted: the cells give the rest, down to the shut-down level, or once dark to nothing. */
function drawStretch(pack: BatteryPack, walk: BatteryWalk, stretch: Stretch): number {
  const { capacityWh, wantedW, leftH } = stretch;
  const { dischargeEfficiency } = pack.facts;
  const directW = walk.harvestW * pack.chargerEfficiency;
  const ratePerH = (wantedW - directW) / (dischargeEfficiency * capacityWh);
  const startRatio = walk.chargeRatio;
  const floorRatio = walk.dark ? 0 : pack.shutDownRatio;
  const reachH = (startRatio - floorRatio) / ratePerH;
  walk.chargeRatio = reachH <= leftH ? floorRatio : startRatio - ratePerH * leftH;
  const spentH = walk.dark ? leftH : Math.min(reachH, leftH);
  const drawnWh = (startRatio - walk.chargeRatio) * capacityWh;
  walk.drawnWh += drawnWh;
  walk.servedWh += directW * spentH + drawnWh * dischargeEfficiency;
  return spentH;
}

/** The panel gives more than is wanted: what is over charges, as far as temperature and fullness let it. */
function chargeStretch(
  pack: BatteryPack,
  walk: BatteryWalk,
  stretch: Stretch & { readonly ceilingW: number },
): number {
  const { capacityWh, wantedW, leftH, ceilingW } = stretch;
  const { chargeEfficiency, taperWidthRatio } = pack.facts;
  const surplusW = walk.harvestW * pack.chargerEfficiency - wantedW;
  const startRatio = walk.chargeRatio;
  const rise = riseWithin(startRatio, {
    ratePerH: (Math.min(surplusW, ceilingW) * chargeEfficiency) / capacityWh,
    ceilingPerH: (ceilingW * chargeEfficiency) / capacityWh,
    goalRatio: walk.dark ? pack.restartRatio : 1,
    taperWidthRatio,
    leftH,
  });
  walk.chargeRatio = rise.ratio;
  const gainedWh = (rise.ratio - startRatio) * capacityWh;
  walk.storedWh += gainedWh;
  walk.servedWh += wantedW * rise.spentH;
  const spilledWh = (surplusW * rise.spentH - gainedWh / chargeEfficiency) / pack.chargerEfficiency;
  walk.spilledWh += Math.max(0, spilledWh); // rounding may leave −1e-15
  return rise.spentH;
}

/**
 * How far the charge rises along one stretch: even current up to the knee, then falling in proportion to what is missing,
 * then the small finishing current. Ends where the stretch ends, at the goal, or when time is up.
 */
function riseWithin(
  ratio: number,
  stretch: {
    /** What is offered, and the most the pack takes away from full, as ratio per hour. */
    readonly ratePerH: number;
    readonly ceilingPerH: number;
    readonly goalRatio: number;
    readonly taperWidthRatio: number;
    readonly leftH: number;
  },
): { readonly ratio: number; readonly spentH: number } {
  const { ratePerH, ceilingPerH, goalRatio, taperWidthRatio, leftH } = stretch;
  if (ratePerH <= 0 || ratio >= 1) return { ratio, spentH: leftH };
  const finishPerH = ceilingPerH * TAPER_FLOOR;
  const finishRatio = 1 - taperWidthRatio * TAPER_FLOOR;
  const kneeRatio = ratePerH <= finishPerH ? 1 : 1 - (taperWidthRatio * ratePerH) / ceilingPerH;

  if (ratio >= kneeRatio && ratio < finishRatio) {
    const decayPerH = ceilingPerH / taperWidthRatio;
    const endRatio = Math.min(finishRatio, goalRatio);
    const neededH = Math.log((1 - ratio) / (1 - endRatio)) / decayPerH;
    if (neededH <= leftH) return { ratio: endRatio, spentH: neededH };
    return { ratio: 1 - (1 - ratio) * Math.exp(-decayPerH * leftH), spentH: leftH };
  }
  const evenPerH = ratio >= kneeRatio ? Math.min(ratePerH, finishPerH) : ratePerH;
  const endRatio = Math.min(ratio < kneeRatio ? kneeRatio : 1, goalRatio);
  const neededH = (endRatio - ratio) / evenPerH;
  if (neededH <= leftH) return { ratio: endRatio, spentH: neededH };
  return { ratio: ratio + evenPerH * leftH, spentH: leftH };
}
