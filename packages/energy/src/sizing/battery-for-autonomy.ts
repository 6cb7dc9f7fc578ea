import { requireWithin } from '../require-number.ts';

/** What the battery has to carry, and what is held back from it. Shares are 0 … 1. */
export interface AutonomyNeeds {
  /** Mean daily load of the worst month, with what controller and converters draw themselves, Wh. */
  readonly dailyLoadWh: number;
  /** How deep the battery may be drawn: 1 − shut-down level. */
  readonly depthRatio: number;
  /** Capacity left in the coldest month; 1 when left out. */
  readonly temperatureFactor?: number;
  /** Capacity at which the battery will be replaced; 1 (no ageing) when left out. 0.8 is usual for lead–acid. */
  readonly endOfLifeRatio?: number;
  /** Of what lies between battery and load; 1 when left out. */
  readonly conversionEfficiency?: number;
  /** Design margin; 1 when left out, 1.10–1.25 is usual. */
  readonly margin?: number;
}

/**
 * Nameplate energy of a battery that carries a load through so many days without any sun.
 *
 * @param autonomyDays  > 0
 * @returns Wh; the larger of what depth and end of life ask for, over the cold, with margin
 * @throws EnergyInputError when a number is out of range
 * @accuracy 0.01 Wh on 3 worked cases and 4 of the trade, test/reference/energy/sizing.test.ts
 * @source IEEE Std 1013-2019 §6 as quoted by a public summary (not read itself; lead–acid by its scope): days × load ÷ conversion;
 *         nameplate = max(÷ depth, ÷ end of life) ÷ temperature factor × margin
 */
export function batteryForAutonomyWh(needs: AutonomyNeeds, autonomyDays: number): number {
  requireWithin('autonomyDays', autonomyDays, [Number.MIN_VALUE, 1000]);
  return autonomyDays * nameplateWhPerDay(needs);
}

/**
 * The same read backwards: how many days without any sun a battery carries.
 *
 * @param batteryWh  nameplate, ≥ 0
 * @returns days
 * @throws EnergyInputError when a number is out of range
 * @source as `batteryForAutonomyWh`
 */
export function autonomyDaysOf(needs: AutonomyNeeds, batteryWh: number): number {
  requireWithin('batteryWh', batteryWh, [0, Number.MAX_VALUE]);
  return batteryWh / nameplateWhPerDay(needs);
}

function nameplateWhPerDay(needs: AutonomyNeeds): number {
  const { dailyLoadWh, depthRatio, temperatureFactor = 1, endOfLifeRatio = 1 } = needs;
  const { conversionEfficiency = 1, margin = 1 } = needs;
  requireWithin('dailyLoadWh', dailyLoadWh, [Number.MIN_VALUE, Number.MAX_VALUE]);
  requireWithin('depthRatio', depthRatio, [0.01, 1]);
  requireWithin('temperatureFactor', temperatureFactor, [0.1, 1.5]);
  requireWithin('endOfLifeRatio', endOfLifeRatio, [0.1, 1]);
  requireWithin('conversionEfficiency', conversionEfficiency, [0.1, 1]);
  requireWithin('margin', margin, [1, 3]);
  const carriedWh = dailyLoadWh / conversionEfficiency;
  return (
    (Math.max(carriedWh / depthRatio, carriedWh / endOfLifeRatio) / temperatureFactor) * margin
  );
}
