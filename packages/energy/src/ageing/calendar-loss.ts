import { requireFinite, requireWithin } from '../require-number.ts';

/** Constants of the calendar form for lithium-ion: NREL SSC, lib_battery_lifetime_calendar_cycle.cpp and its test inputs. */
const RATE_PER_SQRT_DAY = 0.00266;
const TEMPERATURE_K = -7280;
const CHARGE_K = 930;
const REFERENCE_K = 296;
/** Capacity a new cell begins with, above its nameplate: the same source. */
export const NEW_CELL_RATIO = 1.02;

const DAYS_PER_YEAR = 365.25;

/**
 * Share of capacity a lithium cell has lost to time alone, at constant temperature and charge.
 *
 * @param inputs.days         ≥ 0
 * @param inputs.batteryC     °C
 * @param inputs.chargeRatio  mean charge, 0 … 1
 * @returns share of the new capacity, ≥ 0; what is left is NEW_CELL_RATIO − this, shown as no more than 1
 * @throws EnergyInputError when an input is out of range
 * @accuracy 0.0006 on 24 cases up to ten years, test/reference/energy/battery-ageing.test.ts
 * @source NREL System Advisor Model (SSC, BSD-3), calendar model after Smith et al. 2017, American Control Conference; closed form
 *         of its daily steps: the loss grows with the root of time
 */
export function calendarLossRatio(inputs: {
  readonly days: number;
  readonly batteryC: number;
  readonly chargeRatio: number;
}): number {
  requireWithin('days', inputs.days, [0, 200 * DAYS_PER_YEAR]);
  return ageByTime({ lossRatio: 0, ...inputs });
}

/**
 * Carries the loss on through days of another temperature and charge: the order of seasons matters, since a worn cell loses less.
 *
 * @param inputs.lossRatio  lost so far, ≥ 0
 * @param inputs.days       how long, ≥ 0
 * @returns share lost after them
 * @source as `calendarLossRatio`: from dq/dt = k²/2q follows q² = q0² + k²·t
 */
export function ageByTime(inputs: {
  readonly lossRatio: number;
  readonly days: number;
  readonly batteryC: number;
  readonly chargeRatio: number;
}): number {
  const { lossRatio, days, batteryC, chargeRatio } = inputs;
  requireWithin('lossRatio', lossRatio, [0, 2]);
  requireFinite('batteryC', batteryC);
  requireWithin('chargeRatio', chargeRatio, [0, 1]);
  const kelvin = batteryC + 273.15;
  const rate =
    RATE_PER_SQRT_DAY *
    Math.exp(TEMPERATURE_K * (1 / kelvin - 1 / REFERENCE_K)) *
    Math.exp(CHARGE_K * (chargeRatio / kelvin - 1 / REFERENCE_K));
  return Math.sqrt(lossRatio ** 2 + rate ** 2 * days);
}
