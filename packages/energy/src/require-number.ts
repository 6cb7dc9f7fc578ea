import { EnergyInputError } from './errors.ts';

/**
 * Stops at the door a number that is not finite.
 *
 * @throws EnergyInputError naming the input and its value
 */
export function requireFinite(name: string, value: number): void {
  if (!Number.isFinite(value)) throw new EnergyInputError(name, value, 'a finite number');
}

/**
 * Stops at the door a number outside a closed range.
 *
 * @throws EnergyInputError naming the input, its value and the range
 */
export function requireWithin(
  name: string,
  value: number,
  range: readonly [low: number, high: number],
): void {
  if (!(value >= range[0] && value <= range[1])) {
    throw new EnergyInputError(name, value, `${range[0]} to ${range[1]}`);
  }
}
