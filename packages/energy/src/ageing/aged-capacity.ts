import type { BatteryFacts } from '../batteries/battery-facts.ts';
import { interpolate } from '../piecewise.ts';
import { requireWithin } from '../require-number.ts';
import { calendarLossRatio, NEW_CELL_RATIO } from './calendar-loss.ts';

const DAYS_PER_YEAR = 365.25;
const KELVIN_PER_HALVING = 10; // life about halves for each 10 K: common practice, a maker's questions and answers
const REFERENCE_C = 25;

/** How a battery has lived. */
export interface BatteryLife {
  readonly years: number;
  /** Mean temperature of the cells, °C. */
  readonly batteryC: number;
  /** Mean charge, 0 … 1. */
  readonly chargeRatio: number;
  /** Cycles in all, and how deep each was, 0 … 1. */
  readonly cycles: number;
  readonly depthRatio: number;
}

/**
 * Capacity an old battery is expected to have: the smaller of what time and what use have left, as the System Advisor Model does.
 * It is where learning starts from; a measured swing of charge knows better.
 *
 * @param facts  of the chemistry
 * @param life   how it has lived
 * @returns share of the nameplate, 0 … 1, and which of the two decides
 * @throws EnergyInputError when an input is out of range
 * @accuracy lithium-ion: against the published constants and cycle table, test/reference/energy/battery-ageing.test.ts; two cells
 *           of one chemistry differ by more than the model's parts
 * @source lithium: `calendarLossRatio`; others: common practice, see `facts.ageing`
 */
export function agedCapacity(
  facts: BatteryFacts,
  life: BatteryLife,
): { readonly ratio: number; readonly decidedBy: 'time' | 'use' } {
  const byTime = timeLeftRatio(facts, life);
  const byUse = cycledCapacityRatio(facts, life);
  return byTime <= byUse
    ? { ratio: byTime, decidedBy: 'time' }
    : { ratio: byUse, decidedBy: 'use' };
}

/**
 * What cycles of a depth have left of the capacity.
 *
 * @returns 0 … 1; straight in the number of cycles, straight between the depths of the table
 * @throws EnergyInputError when an input is out of range
 * @source `facts.ageing.lossPerCycle`
 */
export function cycledCapacityRatio(
  facts: BatteryFacts,
  use: Pick<BatteryLife, 'cycles' | 'depthRatio'>,
): number {
  requireWithin('cycles', use.cycles, [0, Number.MAX_VALUE]);
  requireWithin('depthRatio', use.depthRatio, [0, 1]);
  return Math.max(0, 1 - use.cycles * interpolate(facts.ageing.lossPerCycle, use.depthRatio));
}

function timeLeftRatio(facts: BatteryFacts, life: BatteryLife): number {
  const { years, batteryC, chargeRatio } = life;
  requireWithin('years', years, [0, 100]);
  const { calendar } = facts.ageing;
  if (calendar.kind === 'lithium-root-of-time') {
    const lossRatio = calendarLossRatio({ days: years * DAYS_PER_YEAR, batteryC, chargeRatio });
    return Math.min(1, Math.max(0, NEW_CELL_RATIO - lossRatio));
  }
  const faster = 2 ** ((batteryC - REFERENCE_C) / KELVIN_PER_HALVING);
  return Math.min(1, Math.max(0, 1 - calendar.lossPerYearAt25C * faster * years));
}
