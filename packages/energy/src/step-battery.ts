import { advanceBattery, startBatteryWalk } from './advance-battery.ts';
import type { BatteryPack } from './battery-pack.ts';
import { chargeBlock } from './charge-limit.ts';
import { requireFinite, requireWithin } from './require-number.ts';

export interface BatteryState {
  /** Share of present capacity, 0 … 1. */
  readonly chargeRatio: number;
  /** Shut down, waiting for the restart level. */
  readonly dark: boolean;
}

export interface BatteryStep {
  readonly pack: BatteryPack;
  /** Mean panel power available, ≥ 0 W. */
  readonly harvestW: number;
  /** Drawn while up, ≥ 0 W. While dark the pack's off-state draw counts instead. */
  readonly loadW: number;
  readonly batteryC: number;
  /** Length, > 0 h; 1 when left out. */
  readonly hours?: number;
}

export interface BatteryOutcome extends BatteryState {
  /** Hours of the step spent up. A step that began up and ended dark went dark after so many hours. */
  readonly upHours: number;
  /** Energy the node received, Wh. */
  readonly servedWh: number;
  /** Energy the cells gained by charging, Wh. */
  readonly storedWh: number;
  /** Energy the cells gave, Wh. */
  readonly drawnWh: number;
  /** Energy the panel could have given and nothing took, Wh at the panel. */
  readonly spilledWh: number;
  /** Why no charge was taken, when the temperature forbade it. */
  readonly blockedBy?: 'cold' | 'heat';
}

/**
 * Carries a battery through one step with constant harvest, load and temperature, and checks its inputs. For a hot loop use
 * `advanceBattery`, which is the same balance in place.
 *
 * @param state  charge and whether the node is dark
 * @param step   pack and what is done to it
 * @returns the state after the step and where the energy went
 * @throws EnergyInputError when a number is not finite or out of range
 * @accuracy as `advanceBattery`
 * @source as `advanceBattery`
 */
export function stepBattery(state: BatteryState, step: BatteryStep): BatteryOutcome {
  requireWithin('chargeRatio', state.chargeRatio, [0, 1]);
  requireWithin('harvestW', step.harvestW, [0, Number.MAX_VALUE]);
  requireWithin('loadW', step.loadW, [0, Number.MAX_VALUE]);
  requireFinite('batteryC', step.batteryC);
  const hours = step.hours ?? 1;
  requireWithin('hours', hours, [Number.MIN_VALUE, 24]);

  const walk = startBatteryWalk(state.chargeRatio, state.dark ? 'dark' : 'up');
  walk.harvestW = step.harvestW;
  walk.loadW = step.loadW;
  walk.batteryC = step.batteryC;
  walk.hours = hours;
  advanceBattery(step.pack, walk);
  const { chargeRatio, dark, upHours, servedWh, storedWh, drawnWh, spilledWh } = walk;
  const blockedBy = chargeBlock(step.pack.facts, step.batteryC);
  const outcome = { chargeRatio, dark, upHours, servedWh, storedWh, drawnWh, spilledWh };
  return blockedBy === undefined ? outcome : { ...outcome, blockedBy };
}
