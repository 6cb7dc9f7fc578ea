import { type BatteryPack, capacityWhAt, TAPER_FLOOR } from './battery-pack.ts';
import { chargeRateLimitPerH } from './charge-limit.ts';
import { leakFactorAt } from './self-discharge.ts';

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
 * One long function on purpose: with the state in locals it runs six times as fast as cut into readable parts, and a forecast
 * calls it 360,000 times.
 *
 * @accuracy energy closes to 1e-9 Wh; an hour agrees with sixty minutes but for self-discharge, which is applied at a
 *           step's end (a share of 4.4e-3 an hour at most, nickel–metal hydride at 60 °C): step-battery.test.ts
 * @source ours: balance of the research note of this project, cut into closed forms (README, Decisions)
 */
export function advanceBattery(pack: BatteryPack, walk: BatteryWalk): void {
  const capacityWh = capacityWhAt(pack, walk.batteryC);
  const offeredW = walk.harvestW * pack.chargerEfficiency;
  const { loadW, hours } = walk;
  let { chargeRatio, dark } = walk;
  let leftH = hours;
  let upHours = 0;
  let servedWh = 0;
  let storedWh = 0;
  let drawnWh = 0;
  let spilledWh = 0;

  for (let stretch = 0; leftH > 0 && stretch < MOST_STRETCHES; stretch += 1) {
    dark = dark ? chargeRatio < pack.restartRatio : chargeRatio <= pack.shutDownRatio;
    const wantedW = dark ? pack.offStateDrawW : loadW;
    const startRatio = chargeRatio;
    let spentH = leftH;
    if (wantedW > offeredW) {
      // The cells give what the panel does not, down to the shut-down level, or once dark down to nothing.
      const ratePerH = (wantedW - offeredW) / (pack.dischargeEfficiency * capacityWh);
      const floorRatio = dark ? 0 : pack.shutDownRatio;
      const reachH = (startRatio - floorRatio) / ratePerH;
      chargeRatio = reachH <= leftH ? floorRatio : startRatio - ratePerH * leftH;
      if (!dark && reachH < leftH) spentH = reachH;
      const givenWh = (startRatio - chargeRatio) * capacityWh;
      drawnWh += givenWh;
      servedWh += offeredW * spentH + givenWh * pack.dischargeEfficiency;
    } else {
      const surplusW = offeredW - wantedW;
      const ceilingPerH = chargeRateLimitPerH(pack.facts, walk.batteryC) * pack.chargeEfficiency;
      const ratePerH = Math.min((surplusW * pack.chargeEfficiency) / capacityWh, ceilingPerH);
      if (ratePerH > 0 && chargeRatio < 1) {
        // Even current up to the knee, then falling with what is missing, then the small finishing current.
        const goalRatio = dark ? pack.restartRatio : 1;
        const finishPerH = ceilingPerH * TAPER_FLOOR;
        const kneeRatio =
          ratePerH <= finishPerH ? 1 : 1 - (pack.taperWidthRatio * ratePerH) / ceilingPerH;
        if (startRatio < kneeRatio || startRatio >= pack.finishRatio) {
          const evenPerH = startRatio < kneeRatio ? ratePerH : finishPerH;
          const endRatio = startRatio < kneeRatio ? Math.min(kneeRatio, goalRatio) : goalRatio;
          const reachH = (endRatio - startRatio) / evenPerH;
          chargeRatio = reachH <= leftH ? endRatio : startRatio + evenPerH * leftH;
          if (reachH < leftH) spentH = reachH;
        } else {
          const decayPerH = ceilingPerH / pack.taperWidthRatio;
          const endRatio = Math.min(pack.finishRatio, goalRatio);
          const reachH = Math.log((1 - startRatio) / (1 - endRatio)) / decayPerH;
          chargeRatio =
            reachH <= leftH ? endRatio : 1 - (1 - startRatio) * Math.exp(-decayPerH * leftH);
          if (reachH < leftH) spentH = reachH;
        }
      }
      const gainedWh = (chargeRatio - startRatio) * capacityWh;
      storedWh += gainedWh;
      servedWh += wantedW * spentH;
      const untakenWh = surplusW * spentH - gainedWh / pack.chargeEfficiency;
      spilledWh += Math.max(0, untakenWh) / pack.chargerEfficiency; // rounding may leave −1e-15
    }
    if (!dark) upHours += spentH;
    leftH -= spentH;
  }

  chargeRatio *= 1 - pack.selfDischargePerH * leakFactorAt(walk.batteryC) * hours;
  walk.dark = dark ? chargeRatio < pack.restartRatio : chargeRatio <= pack.shutDownRatio;
  walk.chargeRatio = chargeRatio;
  walk.upHours = upHours;
  walk.servedWh = servedWh;
  walk.storedWh = storedWh;
  walk.drawnWh = drawnWh;
  walk.spilledWh = spilledWh;
}
